package analysis

import (
	"math"
	"math/rand/v2"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// madeRecord is a small physics of its own: a trapped volume that is pumped
// up through a check valve, hoses that give way for a while, a leak, and a
// temperature. Pressures in bar inside, Pa in the columns.
type madeRecord struct {
	rng *rand.Rand
	// dt is the time between readings; t is now.
	dt, t float64
	p     float64
	feed  float64
	// give is how much of the pressure the hoses take in the end, giveTime
	// with which time constant; given is what they have taken.
	give, giveTime, given float64
	// leakTime is the leak's time constant to the feed's pressure (0: tight),
	// leakRate a constant loss, bar/s.
	leakTime, leakRate float64
	// warms is the pressure's rate by temperature as a function of time.
	warms func(t float64) float64

	noise, step  float64
	spikes, gaps float64
	next         float64
	trapped, fed series.Column
}

func newRecord(seed uint64, dt float64) *madeRecord {
	return &madeRecord{
		rng: rand.New(rand.NewPCG(seed, 71)), dt: dt, noise: 0.02, step: 0.01,
		trapped: series.Column{Name: "p", Quantity: si.Pressure},
		fed:     series.Column{Name: "feed", Quantity: si.Pressure},
	}
}

// forward lets d seconds pass; act, if any, is called at each small step with
// the seconds since its start and the step's length.
func (m *madeRecord) forward(d float64, act func(since, h float64)) {
	start := m.t
	h := min(0.05, m.dt/2)
	if act == nil {
		h = min(0.5, m.dt/2)
	}
	for m.t < start+d-h/2 {
		if m.t >= m.next {
			m.read()
			m.next += m.dt
		}
		if act != nil {
			act(m.t-start, h)
		}
		if m.leakTime > 0 {
			m.p -= h * (m.p - m.feed) / m.leakTime
		}
		if m.p > 1 {
			m.p -= h * m.leakRate
		}
		if m.give > 0 {
			more := h * (m.give*m.p - m.given) / m.giveTime
			m.given += more
			m.p -= more
		}
		if m.warms != nil && m.p > 1 {
			m.p += h * m.warms(m.t)
		}
		m.t += h
	}
}

func (m *madeRecord) read() {
	v := m.p + m.noise*m.rng.NormFloat64()
	f := m.feed + m.noise*m.rng.NormFloat64()
	if m.step > 0 {
		v, f = math.Round(v/m.step)*m.step, math.Round(f/m.step)*m.step
	}
	if m.rng.Float64() < m.spikes {
		v += 60 * (m.rng.Float64() - 0.5)
	}
	if m.rng.Float64() < m.gaps {
		v = math.NaN()
	}
	m.trapped.Time, m.trapped.Value = append(m.trapped.Time, m.t), append(m.trapped.Value, v*bar)
	m.fed.Time, m.fed.Value = append(m.fed.Time, m.t), append(m.fed.Value, f*bar)
}

// idle lets time pass with nothing done.
func (m *madeRecord) idle(d float64) { m.forward(d, nil) }

// ramp presses up (or lets down) evenly to the pressure in d seconds.
func (m *madeRecord) ramp(to, d float64) float64 {
	rate := (to - m.p) / d
	m.forward(d, func(_, h float64) { m.p += rate * h; m.feed = m.p })
	return m.t
}

// strokes pumps by hand: each stroke brings gain bar in 0.4 s, of which a
// seventh comes back until the check valve closes, and then a pause. It
// returns the instant of the last stroke's top.
func (m *madeRecord) strokes(to, gain, pause float64) float64 {
	top := m.t
	for m.p < to {
		up := min(gain, to-m.p+gain/7)
		m.forward(0.4, func(_, h float64) { m.p += up * h / 0.4 })
		top = m.t
		m.feed = m.p
		m.forward(0.3, func(_, h float64) { m.p -= up / 7 * h / 0.3 })
		if m.p < to {
			m.idle(pause * (0.7 + 0.6*m.rng.Float64()))
		}
	}
	return top
}

// overshoot presses up past the pressure, which falls back with the time
// constant.
func (m *madeRecord) overshoot(over, time float64) {
	m.p += over
	m.forward(5*time, func(since, h float64) { m.p -= over / time * math.Exp(-since/time) * h })
}

// letFeedDown lets the feed side down in d seconds.
func (m *madeRecord) letFeedDown(d float64) float64 {
	from := m.feed
	m.forward(d, func(_, h float64) { m.feed = max(0, m.feed-from*h/d) })
	m.feed = 0
	return m.t
}

// release lets the trapped pressure down to a pressure in d seconds, quickly
// at first and slower then, as through an opened valve. It returns when it
// began.
func (m *madeRecord) release(to, d float64) float64 {
	from, at := m.p, m.t
	m.forward(d, func(since, h float64) { m.p -= 2 * (from - to) * (1 - since/d) / d * h })
	m.p, m.given = max(m.p, to), m.give*m.p
	return at
}

// noFeed is the feed column of a record that has none.
var noFeed series.Column
