package result

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/daq/record"
)

// barMin is bar/min in Pa/s.
const barMin = 1e5 / 60

func rate(value, u float64) uncertainty.Estimate {
	return uncertainty.Estimate{Value: value * barMin, StdUncertainty: u * barMin, DegreesOfFreedom: math.Inf(1), Quantity: si.PressureRate}
}

// challengedHold is a hold with a limit of 0.4 bar/min on the decay rate that
// measured 0.35.
func challengedHold() (analysis.Hold, analysis.Assessment) {
	limit := verdict.Limit{Quantity: "decay_rate", Bound: verdict.Max, Value: 0.4 * barMin}
	h := analysis.Hold{Circuit: "a", Limits: []verdict.Limit{limit}}
	a := analysis.Assessment{Circuit: "a", Valid: true, Completed: true, Verdict: verdict.Pass,
		Estimates: map[string]analysis.Quantity{"decay_rate": {Estimate: rate(0.35, 0.01)}},
		Decisions: []verdict.Decision{{Limit: limit, Verdict: verdict.Pass}}}
	return h, a
}

func leak(value, u float64, q si.Quantity) record.Leak {
	return record.Leak{Value: value, U: u, Quantity: q}
}

func TestChallengeIsComparedInTheLimitsQuantity(t *testing.T) {
	stiffness := uncertainty.Estimate{Value: 10e11, StdUncertainty: 0.2e11, DegreesOfFreedom: 30, Quantity: si.Stiffness}
	for _, c := range []struct {
		name       string
		known, own record.Leak
		stiffness  *uncertainty.Estimate
		want       string
		difference float64 // bar/min
	}{
		{"rate", leak(0.3*barMin, 0.01*barMin, si.PressureRate), leak(0.02*barMin, 0, si.PressureRate), nil, "passed", 0.03},
		{"wrong bench", leak(0.1*barMin, 0.01*barMin, si.PressureRate), leak(0.02*barMin, 0, si.PressureRate), nil, "failed", 0.23},
		// 0.03 mL/min × 10 bar/mL
		{"flow", leak(0.03e-6/60, 0.001e-6/60, si.VolumeFlow), leak(0.02*barMin, 0, si.PressureRate), &stiffness, "passed", 0.03},
		{"flow without stiffness", leak(0.03e-6/60, 0.001e-6/60, si.VolumeFlow), leak(0, 0, si.PressureRate), nil, "cannot tell", math.NaN()},
		{"no leak of its own, in any unit", leak(0.3*barMin, 0, si.PressureRate), leak(0, 0, si.VolumeFlow), nil, "passed", 0.05},
	} {
		h, a := challengedHold()
		h.Characterised = decay.Characterised{Stiffness: c.stiffness}
		out := &Challenge{}
		out.compare(record.Challenge{Known: c.known, Own: c.own, Circuit: "a"}, h, a)
		assert.Equal(t, c.want, out.Outcome, c.name)
		assert.Equal(t, "PASS", out.Readings, c.name)
		if math.IsNaN(c.difference) {
			assert.Nil(t, out.Difference.Value, c.name)
			assert.NotEmpty(t, out.Reasons, c.name)
			continue
		}
		require.NotNil(t, out.Difference.Value, c.name)
		assert.InDelta(t, c.difference, *out.Difference.Value/barMin, 1e-9, c.name)
	}
	e, _ := asQuantity(leak(0.03e-6/60, 0.001e-6/60, si.VolumeFlow), si.PressureRate, &stiffness)
	assert.InDelta(t, 0.3*math.Hypot(0.02, 1.0/30), e.StdUncertainty/barMin, 1e-9)
	e, _ = asQuantity(leak(0.3*barMin, 0, si.PressureRate), si.VolumeFlow, &stiffness)
	assert.InEpsilon(t, 0.03e-6/60, e.Value, 1e-9)
}

func TestChallengeOfWhatMayNotBeJudgedCannotTell(t *testing.T) {
	known, own := leak(0.33*barMin, 0, si.PressureRate), leak(0.02*barMin, 0, si.PressureRate)
	for name, spoil := range map[string]func(h *analysis.Hold, a *analysis.Assessment){
		"invalid":   func(_ *analysis.Hold, a *analysis.Assessment) { a.Valid, a.Reasons = false, []string{"stuck"} },
		"cut short": func(_ *analysis.Hold, a *analysis.Assessment) { a.Completed = false },
		"not measured": func(_ *analysis.Hold, a *analysis.Assessment) {
			a.Estimates = map[string]analysis.Quantity{"decay_rate": {Absent: "no readings"}}
		},
		"no limit": func(h *analysis.Hold, _ *analysis.Assessment) { h.Limits = nil },
	} {
		h, a := challengedHold()
		spoil(&h, &a)
		out := &Challenge{Outcome: "cannot tell"}
		out.compare(record.Challenge{Known: known, Own: own, Circuit: "a"}, h, a)
		assert.Equal(t, "cannot tell", out.Outcome, name)
		assert.NotEmpty(t, out.Reasons, name)
	}
}

func TestChallengeTakesTheUnitsVerdictAway(t *testing.T) {
	_, a := challengedHold()
	decisions := a.Decisions
	withhold(&a)
	assert.Equal(t, verdict.Inconclusive, a.Verdict)
	assert.Equal(t, verdict.Inconclusive, a.Decisions[0].Verdict)
	assert.Equal(t, verdict.Pass, decisions[0].Verdict, "what was given is not changed")
	assert.Equal(t, ReasonChallenge, a.Reasons[0])
}
