package analysis

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// settlingUnit has soft hoses and no leak: 3 bar of settling with τ 200 s,
// locked 50 s before the hold.
func settlingUnit() made {
	m := good()
	m.leak, m.ramp, m.prior = 0, 0.5*kPerHour, normal(5*bar, 0.1*bar, si.ThermalCoefficient)
	m.add = func(t float64) float64 { return 3 * bar * math.Exp(-(t+50)/200) }
	return m
}

func TestSettlingAloneBreaksALimitOnTheDecayRate(t *testing.T) {
	h := settlingUnit().hold()
	h.Characterised.Settling = &decay.Settling{
		Amplitude: *normal(3*bar, 0.1*bar, si.PressureChange), TimeConstant: *normal(200, 10, si.Time),
	}
	h.Limits = append(h.Limits, verdict.Limit{Quantity: "leak_rate", Value: 0.2 * barPerMin, Written: "0.2 bar/min"})
	a := Assess(h)
	assert.Equal(t, verdict.Fail, a.Verdict)
	assert.Equal(t, ReasonSettlingOnly, a.Reasons[0])
	assert.Equal(t, ReasonSettlingOnly, a.Decisions[0].Reason)
	assert.Equal(t, verdict.Pass, a.Decisions[1].Verdict, "the leak itself is below its limit")

	h.Limits = h.Limits[1:]
	assert.Equal(t, verdict.Pass, Assess(h).Verdict)
}

func TestSettlingThatIsNotCharacterisedLeavesTheLeakUnknown(t *testing.T) {
	h := settlingUnit().hold()
	h.Limits = []verdict.Limit{{Quantity: "leak_rate", Value: 0.2 * barPerMin, Written: "0.2 bar/min"}}
	a := Assess(h)
	assert.True(t, a.Valid)
	assert.Equal(t, verdict.Inconclusive, a.Verdict)
	assert.Contains(t, a.Reasons[0], "only as their sum")
	assert.Contains(t, a.Reasons, ReasonStillSettling)
	assert.Contains(t, a.Advice[0], "characterise the settling")
}

// Significant curvature adds its reason; the verdict on the decay rate stands.
func TestStillSettlingLeavesTheVerdict(t *testing.T) {
	a := Assess(settlingUnit().hold())
	assert.Equal(t, verdict.Fail, a.Verdict)
	assert.Contains(t, a.Reasons, ReasonStillSettling)
	assert.NotContains(t, a.Reasons, ReasonSettlingOnly, "whether it leaks is not known")
}

func TestUnknownCoefficientIsJudgedWhereTemperatureStoodStill(t *testing.T) {
	steady := good()
	steady.prior, steady.ramp, steady.tempNoise = nil, 0.02*kPerHour, 0.002
	a := Assess(steady.hold())
	assert.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
	assert.Contains(t, a.Reasons, ReasonNoCoefficient)

	drifting := good()
	drifting.prior = nil
	a = Assess(drifting.hold())
	assert.True(t, a.Valid)
	assert.Equal(t, verdict.Inconclusive, a.Verdict)
	assert.Contains(t, a.Reasons, ReasonNoCoefficient)
	require.Len(t, a.Advice, 1)
	assert.Regexp(t, `^the thermal coefficient of this bench and model has to be characterised, or the liquid's temperature to change by less than 0\.\d+ K over the hold \(it changed by 0\.25 K\)`, a.Advice[0])
}

func TestNoThermometerIsInconclusive(t *testing.T) {
	m := good()
	m.ramp = 0
	h := m.hold()
	h.Temperature = series.Column{}
	h.Limits = append(h.Limits, verdict.Limit{Quantity: "pressure_end", Bound: verdict.Min, Value: 90 * bar, Written: "90 bar"})
	a := Assess(h)
	assert.True(t, a.Valid)
	assert.Equal(t, verdict.Inconclusive, a.Verdict)
	assert.Contains(t, a.Reasons[0], "no temperature channel")
	assert.Equal(t, []string{"record the liquid's temperature together with the pressure"}, a.Advice)
	assert.Equal(t, verdict.Pass, a.Decisions[1].Verdict, "the pressure at the end needs none")
}

// Each limit on pressure_after is held against the prediction for its own time.
func TestPressureAfterHasItsOwnTime(t *testing.T) {
	m := good()
	m.leak, m.ramp, m.prior = 0.3*barPerMin, 0, normal(5*bar, 0.1*bar, si.ThermalCoefficient)
	m.limits = []verdict.Limit{
		{Quantity: "pressure_after", Bound: verdict.Min, Value: 98 * bar, After: 300, Written: "98 bar"},
		{Quantity: "pressure_after", Bound: verdict.Min, Value: 98 * bar, After: 600, Written: "98 bar"},
	}
	a := Assess(m.hold())
	assert.Equal(t, verdict.Pass, a.Decisions[0].Verdict, "98.5 bar after 5 min")
	assert.Equal(t, verdict.Fail, a.Decisions[1].Verdict, "97 bar after 10 min")
	assert.InDelta(t, 98.5, a.Estimates["pressure_after"].Value/bar, 0.05, "that of the first limit")
}

func TestNoLimitIsInconclusive(t *testing.T) {
	h := good().hold()
	h.Limits = nil
	a := Assess(h)
	assert.True(t, a.Valid)
	assert.Equal(t, verdict.Inconclusive, a.Verdict)
	assert.Equal(t, ReasonNoLimit, a.Reasons[0])
}

// An unknown name must not pass by way of an empty estimate.
func TestUnknownQuantityIsInconclusive(t *testing.T) {
	h := good().hold()
	h.Limits = []verdict.Limit{{Quantity: "leak", Value: 1e9}}
	a := Assess(h)
	assert.Equal(t, verdict.Inconclusive, a.Verdict)
	assert.Contains(t, a.Reasons[0], `unknown quantity "leak"`)
}

// The limit decides, and nothing else: the same hold under a tenfold and a
// tenth of the limit.
func TestTheLimitDecides(t *testing.T) {
	t.Parallel()
	m := good()
	m.leak, m.prior = 0.2*barPerMin, normal(5*bar, 0.1*bar, si.ThermalCoefficient)
	for value, want := range map[float64]verdict.Verdict{0.02: verdict.Fail, 0.2: verdict.Inconclusive, 2: verdict.Pass} {
		m.limits = []verdict.Limit{{Quantity: "decay_rate", Value: value * barPerMin}}
		assert.Equal(t, want, Assess(m.hold()).Verdict, "%g bar/min", value)
	}
}

// nearly puts the limit on the decay rate one standard uncertainty above what
// is measured, too close to pass.
func nearly(h *Hold) {
	e := Assess(*h).Estimates["decay_rate"]
	h.Limits[0].Value = e.Value + e.StdUncertainty
}

func TestAdviceNamesTheDominatingTerm(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		made func(m *made)
		hold func(h *Hold)
		want string
	}{
		"thermal coefficient": {
			made: func(m *made) { m.leak = 0.18 * barPerMin },
			want: `^the thermal coefficient's standard uncertainty of 0\.50 bar/K would have to fall to 0\.\d+ bar/K, or the liquid's temperature to change by less than 0\.\d+ K over the hold \(it changed by 0\.25 K\); a longer hold alone will not settle it$`,
		},
		"temperature reading": {
			made: func(m *made) {
				m.leak, m.tempNoise, m.prior = 0.15*barPerMin, 0.5, normal(5*bar, 0.01*bar, si.ThermalCoefficient)
			},
			hold: nearly,
			want: `^the thermometer's noise would have to fall to 0\.\d+ of what it is; or a hold of \d+ min would do$`,
		},
		"temperature resolution": {
			made: func(m *made) {
				m.leak, m.tempNoise, m.tempRound, m.ramp = 0.15*barPerMin, 0.001, 0.2, 0.1*kPerHour
				m.prior = normal(5*bar, 0.01*bar, si.ThermalCoefficient)
			},
			hold: nearly,
			want: `^a thermometer resolving 0\.\d+ K is needed \(this one: 0\.20 K\); or a hold of \d+ min would do$`,
		},
		"noise": {
			made: func(m *made) {
				m.leak, m.noise, m.prior = 0.15*barPerMin, 1.5*bar, normal(5*bar, 0.01*bar, si.ThermalCoefficient)
			},
			hold: nearly,
			want: `^the scatter of the pressure readings about the fit would have to fall to 0\.\d+ of what it is; or a hold of \d+ min would do$`,
		},
		"drift": {
			made: func(m *made) { m.leak, m.prior = 0.15*barPerMin, normal(5*bar, 0.01*bar, si.ThermalCoefficient) },
			hold: func(h *Hold) { h.Transducer.Drift = 0.05 * barPerMin },
			want: `^the transducer drift's part of the standard uncertainty, 0\.050 bar/min, would have to fall to 0\.0\d+ bar/min; a longer hold alone will not settle it$`,
		},
		"at the limit itself": {
			made: func(m *made) { m.leak, m.ramp, m.tempNoise = 0.2*barPerMin, 0, 0.001 },
			hold: func(h *Hold) {
				e := Assess(*h).Estimates["decay_rate"]
				h.Limits[0].Value = e.Value + e.StdUncertainty/1000
			},
			want: `lies at the limit itself`,
		},
		"simple rule": {
			made: func(m *made) { m.limits[0].Rule, m.limits[0].UMax = verdict.Simple, 0.02*barPerMin },
			want: `^the thermal coefficient's standard uncertainty of 0\.50 bar/K would have to fall to 0\.\d+ bar/K`,
		},
		"two terms of a size": {
			made: func(m *made) { m.leak, m.noise, m.phi = 0.19*barPerMin, 1.5*bar, 0 },
			hold: func(h *Hold) { h.Transducer.Drift = 0.04 * barPerMin },
			want: `^the standard uncertainty of the decay rate, 0\.0\d+ bar/min, would have to fall to 0\.0\d+ bar/min; most of it is [a-z ]+, but that alone does not do`,
		},
	} {
		t.Run(name, func(t *testing.T) {
			m := good()
			c.made(&m)
			h := m.hold()
			if c.hold != nil {
				c.hold(&h)
			}
			a := Assess(h)
			require.Equal(t, verdict.Inconclusive, a.Verdict, a.Reasons)
			require.True(t, a.Valid, a.Reasons)
			require.NotEmpty(t, a.Advice)
			assert.Regexp(t, c.want, a.Advice[0])
		})
	}
}

// What the advice promises holds: the uncertainty, or the length, that it
// names does decide.
func TestAdviceKeepsItsPromise(t *testing.T) {
	m := good()
	m.leak, m.noise, m.prior = 0.15*barPerMin, 1.5*bar, normal(5*bar, 0.01*bar, si.ThermalCoefficient)
	h := m.hold()
	nearly(&h)
	a := Assess(h)
	minutes, ok := longer(h, h.Limits[0], a.Estimates["decay_rate"].Budget, targetU(h.Limits[0], a.Estimates["decay_rate"]))
	require.True(t, ok)
	m.duration, m.interval = 60*minutes, 0.1
	longerU := Assess(m.hold()).Estimates["decay_rate"].StdUncertainty
	assert.InDelta(t, 0.95, longerU/targetU(h.Limits[0], a.Estimates["decay_rate"]), 0.1)
	assert.NotContains(t, strings.Join(a.Advice, ""), "alone settles")
}
