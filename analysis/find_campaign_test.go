package analysis

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// chance makes a record by chance, of what a bench may do, and says what is
// true of it.
func chance(seed uint64) (m *madeRecord, w truth, told string) {
	m = newRecord(seed, 1)
	r := m.rng
	pick := func(from, to float64) float64 { return from * math.Pow(to/from, r.Float64()) }
	level := pick(10, 400)
	length := pick(60, 40000)
	m.dt = min(pick(0.1, 10), length/150)
	m.dt = max(m.dt, length/4000)
	m.noise, m.step = level*pick(1e-5, 1e-3), level*pick(1e-6, 1e-4)
	m.gaps = 0.1 * max(0, r.Float64()-0.5)
	m.spikes = 0.005 * max(0, r.Float64()-0.5)
	told = fmt.Sprintf("level %.0f bar, %.0f s, a reading each %.2f s", level, length, m.dt)
	if r.Float64() < 0.5 {
		m.give, m.giveTime = pick(0.002, 0.04), length*pick(0.01, 0.2)
		told += fmt.Sprintf(", gives %.3f in %.0f s", m.give, m.giveTime)
	}
	m.idle(max(5*m.dt, length*pick(0.01, 0.3)))
	pumping := max(length*pick(0.002, 0.1), 5)
	switch k := r.Float64(); {
	case k < 0.15:
		told += ", leak search first"
		m.ramp(level*pick(0.1, 0.4), pumping/4)
		m.idle(length * pick(0.05, 0.8))
	case k < 0.3:
		told += ", short holds first"
		for range 1 + r.IntN(3) {
			m.ramp(level*pick(0.7, 1.2), pumping)
			m.idle(length * pick(0.02, 0.3))
			m.release(0, max(length*pick(0.003, 0.02), 2*m.dt))
			m.idle(length * pick(0.01, 0.1))
		}
	case k < 0.4:
		told += ", proof pressure first"
		m.ramp(level*pick(1.2, 1.6), pumping)
		m.idle(length * pick(0.05, 0.3))
		m.release(level*0.4, max(length*pick(0.003, 0.02), 2*m.dt))
		m.idle(length * pick(0.01, 0.1))
	}
	if r.Float64() < 0.5 {
		told += fmt.Sprintf(", ramp of %.0f s", pumping)
		w.from = m.ramp(level, pumping)
	} else {
		n := math.Ceil(pick(4, 40))
		told += fmt.Sprintf(", %.0f strokes in about %.0f s", n, pumping)
		w.from = m.strokes(level, level/n, max(0.3, pumping/n-0.7))
	}
	if r.Float64() < 0.3 {
		told += ", overshoot"
		m.overshoot(level*pick(0.01, 0.1), length*pick(0.001, 0.02))
	}
	switch k := r.Float64(); {
	case k < 0.3:
		m.leakTime, m.feed = length*pick(0.5, 1000), 0
		told += fmt.Sprintf(", leaks with %.1f of its length", m.leakTime/length)
	case k < 0.5:
		m.leakRate = level * pick(1e-4, 0.8) / length
		told += fmt.Sprintf(", leaks evenly %.4f of the pressure", m.leakRate*length/level)
	}
	switch k := r.Float64(); {
	case k < 0.25:
		rate := (r.Float64() - 0.5) * 0.3 * level / length
		m.warms = func(float64) float64 { return rate }
		told += fmt.Sprintf(", warms by %.3f of the pressure", rate*length/level)
	case k < 0.5:
		begin, rate, time := m.t, (r.Float64()-0.5)*0.2*level, length*pick(0.2, 3)
		m.warms = func(t float64) float64 { return rate / time * math.Exp(-(t-begin)/time) }
		told += fmt.Sprintf(", warms by %.3f with %.1f of its length", rate/level, time/length)
	}
	m.idle(length)
	w.to = m.t
	if r.Float64() < 0.7 {
		down := max(length*pick(0.003, 0.05), 2*m.dt)
		told += fmt.Sprintf(", released in %.1f s", down)
		m.release(0, down)
		m.idle(length * pick(0.01, 2))
		if r.Float64() < 0.2 {
			told += ", a short hold after"
			m.leakRate, m.leakTime, m.warms = 0, 0, nil
			m.ramp(level, pumping)
			m.idle(length * pick(0.05, 0.25))
			m.release(0, down)
		}
	}
	return m, w, told
}

func TestHoldsMadeByChanceAreFound(t *testing.T) {
	t.Parallel()
	const records = 300
	for seed := range uint64(records) {
		m, w, told := chance(seed + 1)
		f, reason := FindHold(m.trapped, noFeed, FindOptions{})
		if !assert.Empty(t, reason, "seed %d: %s", seed+1, told) {
			continue
		}
		length := w.to - w.from
		ok := f.Start >= w.from-2*m.dt-0.01*length && f.Start <= w.from+0.36*length+5*m.dt &&
			f.End <= w.to+m.dt && f.End >= w.to-0.04*length-4*m.dt
		assert.True(t, ok, "seed %d: %s\ntrue from %.1f to %.1f, found %.1f to %.1f, locked %.1f\n%s\n%q",
			seed+1, told, w.from, w.to, f.Start, f.End, f.Locked, f.How, f.Notes)
	}
}
