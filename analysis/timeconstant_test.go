package analysis

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// laminarLeaker loses its pressure towards 0 with that time constant (s).
func laminarLeaker(tau float64) made {
	m := good()
	m.leak, m.ramp, m.prior = 0, 0, normal(5*bar, 0.1*bar, si.ThermalCoefficient)
	m.add = func(t float64) float64 { return 100 * bar * math.Expm1(-math.Max(t, 0)/tau) }
	return m
}

func timeLimit(seconds float64) verdict.Limit {
	return verdict.Limit{Quantity: "time_constant", Bound: verdict.Min, Value: seconds}
}

// A gross laminar leak slows by itself; that is not settling.
func TestLaminarLeakIsNotSettling(t *testing.T) {
	a := Assess(laminarLeaker(3000).hold())
	assert.Equal(t, verdict.Fail, a.Verdict)
	assert.NotContains(t, a.Reasons, ReasonStillSettling)
	assert.Equal(t, decay.Exponential, a.Diagnostics.Law)
	m := laminarLeaker(3000)
	leak := m.add
	m.add = func(t float64) float64 { return leak(t) + 0.5*bar*math.Exp(-t/60) }
	assert.Contains(t, Assess(m.hold()).Reasons, ReasonStillSettling, "what comes on top of it is")
}

func TestTimeConstantIsDecidedOnItsReciprocal(t *testing.T) {
	for name, c := range map[string]struct {
		made   made
		limit  float64
		want   verdict.Verdict
		absent bool
	}{
		"well above":                  {laminarLeaker(3000), 2000, verdict.Pass, false},
		"well below":                  {laminarLeaker(3000), 5000, verdict.Fail, false},
		"at the limit":                {laminarLeaker(3000), 3000, verdict.Inconclusive, false},
		"null, and better than asked": {laminarLeaker(1e8), 10000, verdict.Pass, true},
		"null, and too near to tell":  {laminarLeaker(1e8), 1e8, verdict.Inconclusive, true},
	} {
		t.Run(name, func(t *testing.T) {
			h := c.made.hold()
			h.Limits = []verdict.Limit{timeLimit(c.limit)}
			a := Assess(h)
			require.True(t, a.Valid, a.Reasons)
			assert.Equal(t, c.want, a.Verdict, a.Reasons)
			assert.Equal(t, c.absent, a.Estimates["time_constant"].Absent != "")
			for _, text := range append(a.Reasons, a.Advice...) {
				assert.NotContains(t, text, "NaN")
				assert.NotContains(t, text, "Inf")
			}
		})
	}
}

func TestTimeConstantInWords(t *testing.T) {
	h := laminarLeaker(3000).hold()
	h.Limits = []verdict.Limit{timeLimit(5000)}
	a := Assess(h)
	assert.Regexp(t, `^Time constant of 2\d{3} s to 3\d{3} s \(95 %\) breaks the limit of 5000 s$`, a.Reasons[0])
	assert.InEpsilon(t, 3000, a.Decisions[0].DecidedBy, 0.01, "a time again")
}

// The advice on a time constant is in seconds, and holds: with the uncertainty
// that it names the limit would have been decided.
func TestAdviceOnATimeConstant(t *testing.T) {
	m := laminarLeaker(40000)
	m.noise, m.prior = 1*bar, normal(5*bar, 0.01*bar, si.ThermalCoefficient)
	h := m.hold()
	turned := Assess(h).Estimates["time_constant"].Reciprocal
	h.Limits = []verdict.Limit{timeLimit(1 / (turned.Value + turned.StdUncertainty))}
	a := Assess(h)
	require.Equal(t, verdict.Inconclusive, a.Verdict)
	require.NotEmpty(t, a.Advice)
	assert.Regexp(t, `^the scatter of the pressure readings about the fit would have to fall to 0\.\d+ of what it is; or a hold of \d+ min would do$`, a.Advice[0])
	near := atLimit(h.Limits[0], *turned)
	target := targetU(h.Limits[0], near)
	assert.InEpsilon(t, 1/1.645, target/near.StdUncertainty, 0.01)
	better := *turned
	better.StdUncertainty *= 0.999 * target / near.StdUncertainty
	assert.Equal(t, verdict.Pass, verdict.DecideReciprocal(h.Limits[0], better.Estimate).Verdict)
}

// A limit on the time constant limits a loss: a unit that has lost its
// pressure before the hold breaks it.
func TestLostPressureBreaksALimitOnTheTimeConstant(t *testing.T) {
	h := leaker(40 * bar).hold()
	h.Limits = []verdict.Limit{timeLimit(5000)}
	a := Assess(h)
	assert.Equal(t, verdict.Fail, a.Verdict)
	assert.Equal(t, ReasonLostBefore, a.Reasons[0])
}

func TestLeakRateAtTestPressureNeedsSettlingAndThePressure(t *testing.T) {
	h := laminarLeaker(3000).hold()
	h.Limits = []verdict.Limit{{Quantity: "leak_rate_at_test_pressure", Value: 3 * barPerMin, Written: "3 bar/min"}}
	a := Assess(h)
	assert.Equal(t, verdict.Inconclusive, a.Verdict)
	assert.Contains(t, a.Reasons[0], "only as their sum")
	assert.Contains(t, a.Advice[0], "characterise the settling")

	h.Characterised.Settling = &decay.Settling{Amplitude: *normal(0, 0, si.PressureChange), TimeConstant: *normal(100, 0, si.Time)}
	a = Assess(h)
	assert.Equal(t, verdict.Pass, a.Verdict)
	rate := a.Estimates["leak_rate_at_test_pressure"]
	assert.InDelta(t, 100*bar/3000, rate.Value, 4*rate.StdUncertainty, "100 bar over 3000 s, above the mean rate")
	assert.Greater(t, rate.Value, a.Estimates["leak_rate"].Value*1.04)

	h.TestPressure = math.NaN()
	a = Assess(h)
	assert.Equal(t, verdict.Inconclusive, a.Verdict)
	assert.Equal(t, []string{"state the test pressure"}, a.Advice)
}

// The simple rule too decides on 1/τ: a unit so good that τ's own interval has
// no upper end conforms where 1/τ is known well enough at the limit.
func TestSimpleRuleOnATimeConstantIsDecidedOnItsReciprocal(t *testing.T) {
	for name, c := range map[string]struct {
		tau, limit, most float64
		want             verdict.Verdict
	}{
		"well above":                  {3000, 2000, 500, verdict.Pass},
		"well below":                  {3000, 5000, 500, verdict.Fail},
		"null, and better than asked": {1e8, 10000, 3000, verdict.Pass},
		"too uncertain at the limit":  {1e8, 1e8, 1000, verdict.Inconclusive},
	} {
		for _, interval := range []float64{0.1, 0.5, 1} {
			t.Run(fmt.Sprintf("%s, every %g s", name, interval), func(t *testing.T) {
				m := laminarLeaker(c.tau)
				m.interval = interval
				h := m.hold()
				l := timeLimit(c.limit)
				l.Rule, l.UMax = verdict.Simple, c.most
				h.Limits = []verdict.Limit{l}
				a := Assess(h)
				require.True(t, a.Valid, a.Reasons)
				assert.Equal(t, c.want, a.Verdict, a.Reasons)
				for _, text := range append(a.Reasons, a.Advice...) {
					assert.NotContains(t, text, "NaN")
					assert.NotContains(t, text, "Inf")
				}
			})
		}
	}
}
