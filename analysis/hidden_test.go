package analysis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// No place in a hold hides a loss: each of these units loses more than its
// limit, or may do so, where a fit does not look. D: invented.
func TestNoPlaceHidesALoss(t *testing.T) {
	characterised := func(seed uint64) made {
		m := good()
		m.seed, m.prior, m.ramp = seed, normal(5*bar, 0.25*bar, si.ThermalCoefficient), 0
		return m
	}
	for name, make := range map[string]func(seed uint64) Hold{
		"all at once in the last readings": func(seed uint64) Hold {
			m := characterised(seed)
			m.add = func(t float64) float64 {
				if t > m.duration-4*m.interval {
					return -2 * bar
				}
				return 0
			}
			return m.hold()
		},
		"all at once after the first readings": func(seed uint64) Hold {
			m := characterised(seed)
			m.add = func(t float64) float64 {
				if t >= 3*m.interval {
					return -2 * bar
				}
				return 0
			}
			return m.hold()
		},
		"quickly after each re-pump": func(seed uint64) Hold {
			m := characterised(seed)
			m.leak, m.duration = 0, 1800
			m.add = func(t float64) float64 { return -2.5 * bar * -math.Expm1(-math.Mod(t, 300)/20) }
			h := m.hold()
			h.StartLow, h.StartHigh = math.NaN(), math.NaN()
			return h
		},
		"while a lag that nobody knows hides it": func(seed uint64) Hold {
			m := characterised(seed)
			m.leak = 0.3 * barPerMin
			m.before = 300
			// the probe turns at t0, the liquid follows it 150 s later
			probe := func(t float64) float64 { return 293.15 - 0.001*max(t, 0) }
			liquid := func(t float64) float64 {
				if t <= 0 {
					return 293.15
				}
				return 293.15 - 0.001*(t+150*math.Expm1(-t/150))
			}
			m.temp = probe
			m.add = func(t float64) float64 { return m.b * (liquid(t) - liquid(0) - probe(t) + probe(0)) }
			return m.hold()
		},
		"while the temperature is missing": func(seed uint64) Hold {
			m := characterised(seed)
			m.leak = 0.4 * barPerMin
			m.temp = func(t float64) float64 { return 293.15 + 0.022*max(t-m.duration+13.5, 0) }
			h := m.hold()
			h.Temperature = spoil(h.Temperature, h.End-13.5, math.Inf(1), func(_, _ float64) float64 { return math.NaN() })
			return h
		},
	} {
		t.Run(name, func(t *testing.T) {
			for seed := range uint64(8) {
				h := make(seed)
				a := Assess(h)
				assert.NotEqual(t, verdict.Pass, a.Verdict, "%v", a.Estimates["decay_rate"].Estimate)
			}
		})
	}
}

// A good unit that pumps itself up again warms its liquid each time, by what
// 5 bar do at 5 bar/K, and loses that again quickly: no loss is hidden there.
func TestCoolingAfterEachRepumpIsNoHiddenLoss(t *testing.T) {
	const period, band = 300.0, 5 * bar
	warmth := adiabaticRise * band * 5 * bar // Pa
	for seed := range uint64(8) {
		m := good()
		m.seed, m.duration, m.ramp = seed, 1800, 0
		m.prior = normal(5*bar, 0.25*bar, si.ThermalCoefficient)
		m.leak = 0
		m.limits = []verdict.Limit{{Quantity: "decay_rate", Value: 2 * barPerMin, Written: "2 bar/min"}}
		rate := (band - warmth) / period
		m.add = func(t float64) float64 {
			since := math.Mod(t, period)
			return -rate*since + warmth*math.Expm1(-since/20)
		}
		h := m.hold()
		h.StartLow, h.StartHigh = math.NaN(), math.NaN()
		h.End -= period / 2 // not at a re-pump
		a := Assess(h)
		assert.Equal(t, verdict.Pass, a.Verdict, "%v", a.Reasons)
		assert.GreaterOrEqual(t, a.Diagnostics.Repumps, fewestRepumps)
	}
}

// A leak that comes and goes with the day looks like what a lag does to the
// temperature; it is not taken for it.
func TestALeakThatFollowsTheDayIsNotTakenForALag(t *testing.T) {
	const day = 86400.0
	w := 2 * math.Pi / day
	for seed := range uint64(6) {
		m := good()
		m.seed, m.duration, m.interval, m.tempInterval = seed, day, 10, 10
		m.prior = normal(5*bar, 0.25*bar, si.ThermalCoefficient)
		mean := 2.5 * bar / day
		m.leak = mean
		m.temp = func(t float64) float64 { return 293.15 + 0.75*math.Cos(w*t) }
		m.add = func(t float64) float64 { return -mean * math.Sin(w*t) / w } // slower about noon
		m.limits = []verdict.Limit{{Quantity: "decay_rate", Value: 2 * bar / day, Written: "2 bar/d"}}
		h := m.hold()
		h.StartLow, h.StartHigh = math.NaN(), math.NaN()
		assert.NotEqual(t, verdict.Pass, Assess(h).Verdict, "%v", Assess(h).Estimates["decay_rate"].Estimate)
	}
}

// A single spike, wherever it is but in a fall at an end, still costs itself
// only.
func TestSpikesAtTheEndsThatAreNoFallCostThemselves(t *testing.T) {
	h := good().hold()
	for i, at := range h.Trapped.Time {
		if at == h.Start {
			h.Trapped.Value[i] -= 3 * bar
		}
	}
	h.Trapped.Value[h.Trapped.Len()-1] += 3 * bar
	assert.Equal(t, verdict.Pass, Assess(h).Verdict)
}
