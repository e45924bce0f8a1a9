package analysis

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// quiet is a good hold of 5 min.
func quiet(seed uint64) made {
	return made{seed: seed, before: 100, duration: 300, interval: 0.1, tempInterval: 0.5, start: 100 * bar, leak: 0.02 * barPerMin,
		b: 5 * bar, ramp: 0.1 * kPerHour, noise: 0.01 * bar, tempNoise: 0.01, prior: normal(5*bar, 0.2*bar, si.ThermalCoefficient),
		limits: []verdict.Limit{{Quantity: "decay_rate", Value: 0.2 * barPerMin, RiskPass: 0.05, RiskFail: 0.05}}}
}

// Readings that a channel in order does not give invalidate the hold, and the
// reason names the channel; a spike, and drop-outs of a few readings, cost
// themselves only.
func TestOddReadings(t *testing.T) {
	at := func(c series.Column, from, to float64, change func(v float64) float64) {
		for i, x := range c.Time {
			if x >= from && x < to {
				c.Value[i] = change(c.Value[i])
			}
		}
	}
	more := func(h *Hold) {
		p := decay.Probe{Column: h.Temperature, Interval: h.TemperatureInterval, Thermometer: h.Thermometer}
		p.Column.Name = "temp_far"
		p.Column.Value = append([]float64(nil), p.Column.Value...)
		h.MoreProbes = append(h.MoreProbes, p)
	}
	add := func(x float64) func(float64) float64 { return func(v float64) float64 { return v + x } }
	is := func(x float64) func(float64) float64 { return func(float64) float64 { return x } }
	for name, c := range map[string]struct {
		spoil  func(h *Hold)
		reason string // empty: PASS
	}{
		"nothing":              {func(*Hold) {}, ""},
		"spikes":               {func(h *Hold) { at(h.Trapped, 200, 200.05, add(bar)); at(h.Trapped, 300, 300.05, add(-bar)) }, ""},
		"few drop-outs":        {func(h *Hold) { at(h.Trapped, 200, 206, is(math.NaN())) }, ""},
		"many drop-outs":       {func(h *Hold) { at(h.Trapped, 200, 230, is(math.NaN())) }, "valid pressure readings cover"},
		"zero knocked":         {func(h *Hold) { at(h.Trapped, 250, 1e9, add(-0.3*bar)) }, "the pressure's reading jumps by -0.3"},
		"zero knocked up":      {func(h *Hold) { at(h.Trapped, 250, 1e9, add(0.3*bar)) }, "the pressure's reading jumps by +0.3"},
		"stuck":                {func(h *Hold) { at(h.Trapped, 250, 290, is(99.9*bar)) }, "the pressure channel is stuck"},
		"saturated":            {func(h *Hold) { h.Transducer.High = 99.99 * bar; at(h.Trapped, 250, 251, is(99.99*bar)) }, "the pressure channel is saturated"},
		"probe jumps":          {func(h *Hold) { at(h.Temperature, 250, 1e9, add(-1)) }, "the temperature reading jumps by -1"},
		"another probe sticks": {func(h *Hold) { more(h); at(h.MoreProbes[0].Column, 250, 350, is(293)) }, "the temperature temp_far channel is stuck"},
		"another probe jumps":  {func(h *Hold) { more(h); at(h.MoreProbes[0].Column, 250, 1e9, add(2)) }, "the temperature temp_far reading jumps by +2"},
		"another probe away":   {func(h *Hold) { more(h); at(h.MoreProbes[0].Column, 250, 350, is(math.NaN())) }, "valid temperature temp_far readings"},
		"pumped up once":       {func(h *Hold) { at(h.Trapped, 250, 1e9, add(4*bar)) }, "the pressure was re-pumped"},
	} {
		t.Run(name, func(t *testing.T) {
			h := quiet(3).hold()
			c.spoil(&h)
			a := Assess(h)
			if c.reason == "" {
				assert.True(t, a.Valid, a.Reasons)
				assert.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
				return
			}
			assert.False(t, a.Valid)
			assert.Equal(t, verdict.Inconclusive, a.Verdict)
			assert.Contains(t, strings.Join(a.Reasons, "; "), c.reason)
		})
	}
}

// A burst is a loss, not a step of the zero: it counts, and the hold fails.
func TestBurstFails(t *testing.T) {
	m := quiet(4)
	m.add = func(t float64) float64 {
		if t > 150.04 {
			return -30 * bar
		}
		return 0
	}
	a := Assess(m.hold())
	assert.True(t, a.Valid)
	assert.Equal(t, verdict.Fail, a.Verdict, a.Reasons)
	drop := a.Estimates["drop"]
	low, high := drop.Interval(0.99)
	assert.True(t, low <= 30.1*bar && 30.1*bar <= high, "%g ± %g", drop.Value, drop.StdUncertainty)
	assert.Contains(t, a.Diagnostics.LawReason, "all at once")
}

// Of good holds, fine or coarse, at most 1 in 100 is called odd in any way.
func TestGoodHoldsAreNotCalledOdd(t *testing.T) {
	const runs = 150
	for name, c := range map[string]func(m *made){
		"fine":                   func(*made) {},
		"autocorrelated":         func(m *made) { m.phi = 0.95 },
		"coarse":                 func(m *made) { m.round, m.tempRound = 0.02*bar, 0.1 },
		"coarse and quiet":       func(m *made) { m.round, m.noise, m.tempRound, m.tempNoise = 0.1*bar, 0.01*bar, 0.1, 0.01 },
		"coarse, autocorrelated": func(m *made) { m.phi, m.round = 0.95, 0.01*bar },
		"slow":                   func(m *made) { m.interval, m.tempInterval, m.duration = 10, 10, 3600 },
	} {
		t.Run(name, func(t *testing.T) {
			odd := 0
			for seed := range uint64(runs) {
				m := quiet(seed)
				c(&m)
				h := m.hold()
				if len(channelsMoveFreely(h, decay.Diagnostics{Jumps: jumpsOf(h)})) > 0 {
					odd++
				}
			}
			assert.LessOrEqual(t, odd, runs/100)
		})
	}
}

func jumpsOf(h Hold) []decay.Jump {
	kept, _, _ := decay.WithoutSpikes(h.Trapped.Window(h.Start, h.End))
	return decay.Jumps(kept, h.Transducer.Resolution)
}

// The zero read before and after takes the drift off, and its doubt takes the
// place of the stated drift; where it moved too far nothing is said.
func TestZeroReadBeforeAndAfter(t *testing.T) {
	zeros := func(shift float64) *decay.Zeros {
		return &decay.Zeros{
			Before: decay.Zero{At: 0, Value: *normal(0, 0.002*bar, si.Pressure)},
			After:  decay.Zero{At: 500, Value: *normal(shift, 0.002*bar, si.Pressure)},
		}
	}
	// The transducer drifts by −0.1 bar/min; the unit is tight.
	m := quiet(5)
	m.leak, m.ramp = 0.1*barPerMin, 0
	h := m.hold()
	h.Transducer.Drift = 0.1 * barPerMin
	plain := Assess(h).Estimates["decay_rate"]
	assert.InDelta(t, 0.1*barPerMin, plain.Value, 0.01*barPerMin)
	h.Zeros = zeros(-0.1 * barPerMin * 500)
	a := Assess(h)
	got := a.Estimates["decay_rate"]
	assert.InDelta(t, 0, got.Value, 0.01*barPerMin)
	assert.Less(t, got.StdUncertainty, plain.StdUncertainty)
	sources := map[string]float64{}
	for _, l := range got.Budget {
		sources[l.Source] = l.StdUncertainty
	}
	assert.NotContains(t, sources, decay.SourceDrift)
	want := math.Hypot(math.Sqrt2*0.002*bar, 0.1*barPerMin*500/math.Sqrt(3)) / 500
	assert.InEpsilon(t, want, sources[decay.SourceZeroShift], 0.02)
	// 0.83 bar is more than a third of what 0.2 bar/min allows over 5 min.
	assert.False(t, a.Valid)
	assert.Contains(t, strings.Join(a.Reasons, "; "), "the transducer's zero moved by -0.83 bar")
	h.Zeros = zeros(-0.3 * bar)
	assert.True(t, Assess(h).Valid)
}

// A soak over whole days says nothing; one that ends half a day too late says
// what that costs.
func TestSoakSaysWhatAnOpenCycleCosts(t *testing.T) {
	for name, c := range map[string]struct {
		hours float64
		open  bool
	}{"a whole day": {24, false}, "a day and a half": {36, true}} {
		m := quiet(6)
		m.duration, m.interval, m.tempInterval, m.leak = c.hours*3600, 60, 60, 0.0001*barPerMin
		m.temp = func(t float64) float64 { return 293 - 2*math.Cos(2*math.Pi*max(0, t)/86400) }
		a := Assess(m.hold())
		assert.Equal(t, c.open, strings.Contains(strings.Join(a.Reasons, "; "), "the soak does not end at the temperature it began at"), name)
	}
}
