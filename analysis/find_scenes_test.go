package analysis

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
)

// truth is what a scene's maker knows. The window found has to begin between
// from and from + late, and to end at most early seconds before to, and not
// after it by more than a reading.
type truth struct {
	from, late  float64
	to, early   float64
	locked, off float64 // NaN: unknown
	method      string
	how         []string
	notes       []string
	quiet       bool // no notes at all
	feed        bool
}

type scene struct {
	name string
	make func(m *madeRecord) truth
	dt   float64
}

var scenes = []scene{
	{name: "ramp, hold, release", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(10)
		up := m.ramp(100, 12)
		m.idle(300)
		end := m.release(0, 4)
		m.idle(10)
		return truth{from: up, late: 100, to: end, early: 3, locked: up, off: 1, how: []string{"pressed up to ", "then released"}, quiet: true}
	}},
	{name: "hand pumping in strokes with dips", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(8)
		m.give, m.giveTime = 0.02, 15
		up := m.strokes(100, 6, 1.5)
		m.idle(300)
		end := m.release(0, 3)
		m.idle(5)
		return truth{from: up, late: 100, to: end, early: 3, locked: up, off: 1}
	}},
	{name: "hand pumping, small strokes, long pauses", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(8)
		up := m.strokes(100, 3, 4)
		m.idle(400)
		end := m.release(0, 3)
		m.idle(5)
		return truth{from: up, late: 133, to: end, early: 4, locked: up, off: 1}
	}},
	{name: "quick pump, then a few strokes by hand", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(8)
		m.ramp(90, 0.5)
		m.idle(6)
		up := m.strokes(100, 3, 3)
		m.idle(300)
		end := m.release(0, 3)
		return truth{from: up, late: 100, to: end, early: 3, locked: up, off: 1}
	}},
	{name: "overshoot, then relaxation", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 10)
		m.overshoot(8, 4)
		m.idle(280)
		end := m.release(0, 4)
		m.idle(20)
		return truth{from: up + 12, late: 90, to: end, early: 4, locked: up, off: 1, notes: []string{"taken for settling"}}
	}},
	{name: "hoses settle", dt: 0.1, make: func(m *madeRecord) truth {
		m.give, m.giveTime = 0.03, 20
		m.idle(5)
		up := m.ramp(100, 10)
		m.idle(400)
		end := m.release(0, 4)
		return truth{from: up + 50, late: 84, to: end, early: 4, locked: up, off: 1}
	}},
	{name: "several press-ups, the last long one counts", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		m.ramp(100, 8)
		m.idle(150)
		m.release(0, 3)
		m.idle(20)
		m.ramp(102, 8)
		m.idle(120)
		m.release(0, 3)
		m.idle(20)
		up := m.ramp(98, 8)
		m.idle(200)
		end := m.release(0, 3)
		m.idle(5)
		return truth{from: up, late: 70, to: end, early: 3, locked: up, off: 1, notes: []string{"from 13 s to 1", "from 194 s to 31"}}
	}},
	{name: "short press-up after the hold", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 8)
		m.idle(300)
		end := m.release(0, 3)
		m.idle(20)
		m.ramp(100, 8)
		m.idle(40)
		m.release(0, 3)
		m.idle(5)
		return truth{from: up, late: 100, to: end, early: 4, locked: up, off: 1, notes: []string{"another hold not taken"}}
	}},
	{name: "leak search at low pressure first", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		m.ramp(20, 5)
		m.idle(240)
		up := m.ramp(100, 10)
		m.idle(300)
		end := m.release(0, 4)
		return truth{from: up, late: 100, to: end, early: 4, locked: up, off: 1, notes: []string{"from 10 s to 2"}}
	}},
	{name: "proof pressure, let down to the test pressure", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		m.ramp(150, 10)
		m.idle(60)
		m.release(100, 2)
		at := m.t
		m.idle(300)
		end := m.release(0, 4)
		return truth{from: at, late: 102, to: end, early: 4, locked: math.NaN(), how: []string{"let down to"}, notes: []string{"from 15 s to 7"}}
	}},
	{name: "topped up in the middle", dt: 0.1, make: func(m *madeRecord) truth {
		m.leakRate = 0.01
		m.idle(5)
		m.ramp(100, 10)
		m.idle(200)
		up := m.strokes(100, 1.5, 2)
		m.idle(220)
		end := m.release(0, 4)
		return truth{from: up, late: 75, to: end, early: 4, locked: up, off: 2, notes: []string{"another hold not taken"}}
	}},
	{name: "gross leak, exponential, to the end", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 5)
		m.leakTime, m.feed = 250, 0
		m.idle(300)
		return truth{from: up, late: 14, to: m.t, early: 0.2, locked: up, off: 1}
	}},
	{name: "gross leak with release at the end", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 5)
		m.leakTime, m.feed = 250, 0
		m.idle(300)
		end := m.release(0, 2)
		m.idle(30)
		return truth{from: up, late: 14, to: end, early: 4, locked: up, off: 1, how: []string{"then released"}}
	}},
	{name: "leak of constant flow, half is lost", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 5)
		m.leakRate = 0.17
		m.idle(300)
		end := m.release(0, 2)
		m.idle(30)
		return truth{from: up, late: 8, to: end, early: 4, locked: up, off: 1}
	}},
	{name: "leak of constant flow until nothing is left", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 5)
		m.leakRate = 0.5
		m.idle(300)
		return truth{from: up, late: 5, to: up + 198, early: 12, locked: up, off: 1, notes: []string{"what could be lost was lost"}}
	}},
	{name: "total leak in seconds, an hour of nothing", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 5)
		m.leakTime, m.feed = 3, 0
		m.idle(3600)
		return truth{from: up, late: 0.5, to: up + 9.5, early: 1.5, locked: up, off: 0.5, notes: []string{"lost too much after its peak", "what could be lost was lost"}}
	}},
	{name: "total leak as the feed is let down", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 5)
		m.idle(10)
		down := m.letFeedDown(1)
		m.leakTime = 4
		m.idle(600)
		return truth{from: down - 1.5, late: 2, to: down + 14, early: 3, locked: up, off: 1, feed: true}
	}},
	{name: "noise of half a bar", dt: 0.1, make: func(m *madeRecord) truth {
		m.noise = 0.5
		m.idle(10)
		up := m.ramp(100, 10)
		m.idle(300)
		end := m.release(0, 4)
		m.idle(10)
		return truth{from: up, late: 100, to: end, early: 6, locked: up, off: 4}
	}},
	{name: "spikes: one reading in a hundred", dt: 0.1, make: func(m *madeRecord) truth {
		m.spikes = 0.01
		m.idle(10)
		up := m.ramp(100, 10)
		m.idle(600)
		end := m.release(0, 4)
		m.idle(10)
		return truth{from: up, late: 200, to: end, early: 8, locked: up, off: 2}
	}},
	{name: "gaps: one reading in five, and a minute without any", dt: 0.1, make: func(m *madeRecord) truth {
		m.gaps = 0.2
		m.idle(10)
		up := m.ramp(100, 10)
		m.idle(150)
		m.gaps = 1
		m.idle(60)
		m.gaps = 0.2
		m.idle(150)
		end := m.release(0, 4)
		m.idle(10)
		return truth{from: up, late: 120, to: end, early: 5, locked: up, off: 1}
	}},
	{name: "loose plug: the signal is away for three seconds", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(10)
		up := m.ramp(100, 10)
		m.idle(150)
		p := m.p
		m.p = 0
		m.idle(3)
		m.p = p
		m.idle(150)
		end := m.release(0, 4)
		m.idle(10)
		return truth{from: up, late: 101, to: end, early: 4, locked: up, off: 1, notes: []string{"dropped out from"}}
	}},
	{name: "very slow decay, 24 h, a reading a minute", dt: 60, make: func(m *madeRecord) truth {
		m.leakRate = 0.2 / 86400
		m.idle(1200)
		up := m.ramp(100, 60)
		m.idle(86400)
		end := m.release(0, 30)
		m.idle(600)
		return truth{from: up - 60, late: 28900, to: end, early: 2000, locked: up, off: 120}
	}},
	{name: "24 h, a reading a minute, day and night, topped up once", dt: 60, make: func(m *madeRecord) truth {
		m.warms = func(t float64) float64 { return 10 * 2 * math.Pi / 86400 * math.Cos(2*math.Pi*t/86400) }
		m.idle(600)
		m.ramp(100, 60)
		m.idle(36000)
		up := m.ramp(m.p+5, 20)
		m.idle(50000)
		return truth{from: up - 60, late: 17000, to: m.t, early: 61, locked: up, off: 130, notes: []string{"another hold not taken"}}
	}},
	{name: "begins in mid-hold", dt: 0.1, make: func(m *madeRecord) truth {
		m.p, m.leakRate = 97, 0.003
		m.idle(300)
		return truth{from: 0, late: 0.1, to: m.t, early: 0.2, locked: math.NaN(), method: HoldWhole, how: []string{"no press-up", "end of the record"}, quiet: true}
	}},
	{name: "begins in mid-hold, released at the end", dt: 0.1, make: func(m *madeRecord) truth {
		m.p = 97
		m.idle(300)
		end := m.release(0, 4)
		m.idle(60)
		return truth{from: 0, late: 0.1, to: end, early: 4, locked: math.NaN(), method: HoldWhole, how: []string{"no press-up", "then released"}}
	}},
	{name: "begins in mid-hold and warms", dt: 0.1, make: func(m *madeRecord) truth {
		m.p = 100
		m.warms = func(t float64) float64 { return 22.0 / 60 * math.Exp(-t/60) }
		m.idle(300)
		return truth{from: 0, late: 0.1, to: m.t, early: 0.2, locked: math.NaN(), method: HoldWhole}
	}},
	{name: "begins in mid-hold at low pressure and doubles by warming", dt: 0.1, make: func(m *madeRecord) truth {
		m.p = 20
		m.warms = func(float64) float64 { return 22.0 / 300 }
		m.idle(300)
		return truth{from: 0, late: 0.1, to: m.t, early: 0.2, locked: math.NaN(), method: HoldWhole}
	}},
	{name: "ends in mid-hold", dt: 0.1, make: func(m *madeRecord) truth {
		m.leakRate = 0.002
		m.idle(10)
		up := m.ramp(100, 10)
		m.idle(120)
		return truth{from: up, late: 40, to: m.t, early: 0.2, locked: up, off: 1, how: []string{"the end of the record"}}
	}},
	{name: "warming unit, evenly", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 15)
		m.warms = func(float64) float64 { return 22.0 / 300 }
		m.idle(300)
		end := m.release(0, 4)
		m.idle(5)
		return truth{from: up, late: 15, to: end, early: 4, locked: up, off: 1}
	}},
	{name: "warming unit, fast at first", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 15)
		begin := m.t
		m.warms = func(t float64) float64 { return 22.0 / 80 * math.Exp(-(t-begin)/80) }
		m.idle(300)
		end := m.release(0, 4)
		m.idle(5)
		return truth{from: up, late: 101, to: end, early: 4, locked: up, off: 1}
	}},
	{name: "low pressure, warming to double", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(20, 10)
		m.warms = func(float64) float64 { return 22.0 / 300 }
		m.idle(300)
		end := m.release(0, 4)
		m.idle(5)
		return truth{from: up, late: 101, to: end, early: 4, locked: up, off: 1}
	}},
	{name: "feed let down after a minute", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 12)
		m.idle(60)
		down := m.letFeedDown(3)
		m.leakRate = 0.004
		m.idle(300)
		end := m.release(0, 4)
		m.idle(10)
		return truth{from: down - 1, late: 101, to: end, early: 4, locked: up, off: 1, feed: true, how: []string{"feed let down at"}}
	}},
	{name: "feed never let down", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 12)
		m.idle(300)
		end := m.release(0, 4)
		return truth{from: up, late: 101, to: end, early: 4, locked: up, off: 1, feed: true, notes: []string{"feed side was under pressure"}}
	}},
	{name: "feed pressed up again to open the valve", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 12)
		down := m.letFeedDown(3)
		m.idle(300)
		end := m.t
		m.forward(3, func(_, h float64) { m.feed += 30 * h })
		m.forward(10, nil)
		m.release(0, 4)
		m.idle(10)
		return truth{from: down - 1, late: 102, to: end + 2, early: 4, locked: up, off: 1, feed: true, how: []string{"feed side under pressure again"}}
	}},
	{name: "1 s readings, resolution of a whole bar", dt: 1, make: func(m *madeRecord) truth {
		m.step, m.noise, m.leakRate = 1, 0.1, 0.01
		m.idle(20)
		up := m.ramp(100, 20)
		m.idle(600)
		end := m.release(0, 4)
		m.idle(20)
		return truth{from: up - 1, late: 200, to: end, early: 15, locked: up, off: 3}
	}},
	{name: "two readings a minute, five minutes", dt: 30, make: func(m *madeRecord) truth {
		m.idle(60)
		up := m.ramp(100, 15)
		m.idle(300)
		end := m.release(0, 4)
		m.idle(60)
		return truth{from: up - 15, late: 130, to: end, early: 65, locked: up, off: 45}
	}},
	{name: "slow press-up of ten minutes, four hours", dt: 1, make: func(m *madeRecord) truth {
		m.idle(60)
		up := m.ramp(100, 600)
		m.leakRate = 0.0002
		m.idle(4 * 3600)
		end := m.release(0, 20)
		m.idle(60)
		return truth{from: up - 10, late: 4900, to: end, early: 200, locked: up, off: 20}
	}},
	{name: "slow release through a needle valve", dt: 0.1, make: func(m *madeRecord) truth {
		m.idle(5)
		up := m.ramp(100, 10)
		m.leakRate = 0.003
		m.idle(300)
		end := m.release(0, 60)
		m.idle(10)
		return truth{from: up, late: 100, to: end, early: 6, locked: up, off: 1}
	}},
}

const sceneSeeds = 6

func TestHoldIsFoundInEachScene(t *testing.T) {
	t.Parallel()
	for _, s := range scenes {
		for seed := range uint64(sceneSeeds) {
			t.Run(fmt.Sprintf("%s/seed %d", s.name, seed+1), func(t *testing.T) {
				m := newRecord(seed+1, s.dt)
				want := s.make(m)
				want.check(t, m)
			})
		}
	}
}

func (m *madeRecord) columns(feed bool) (trapped, fed series.Column) {
	if feed {
		return m.trapped, m.fed
	}
	return m.trapped, noFeed
}

func (w truth) check(t *testing.T, m *madeRecord) {
	trapped, feed := m.columns(w.feed)
	f, reason := FindHold(trapped, feed, FindOptions{})
	require.Empty(t, reason)
	t.Logf("%.1f..%.1f locked %.1f\n%s\n%q", f.Start, f.End, f.Locked, f.How, f.Notes)
	if w.method == "" {
		w.method = HoldFound
	}
	assert.Equal(t, w.method, f.Method)
	assert.GreaterOrEqual(t, f.Start, w.from-m.dt, "start too early")
	assert.LessOrEqual(t, f.Start, w.from+w.late, "start too late")
	assert.LessOrEqual(t, f.End, w.to+m.dt, "end too late")
	assert.GreaterOrEqual(t, f.End, w.to-w.early, "end too early")
	if math.IsNaN(w.locked) {
		assert.True(t, math.IsNaN(f.Locked))
	} else {
		assert.InDelta(t, w.locked, f.Locked, w.off, "locked")
	}
	for _, words := range w.how {
		assert.Contains(t, f.How, words)
	}
	for _, words := range w.notes {
		assert.Contains(t, fmt.Sprint(f.Notes), words)
	}
	if w.quiet {
		assert.Empty(t, f.Notes)
	}
}
