package verdict

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

func rate(value, u float64) uncertainty.Estimate {
	return uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Quantity: si.PressureRate}
}

// 1.6449 is the normal quantile at 0.95.
func TestGuardedRuleKeepsABandOnBothSides(t *testing.T) {
	for name, c := range map[string]struct {
		bound   Bound
		value   float64
		want    Verdict
		decided float64
	}{
		"well below a maximum":   {Max, 50, Pass, 50 + 16.449},
		"just below a maximum":   {Max, 83.5, Pass, 83.5 + 16.449},
		"in the band below":      {Max, 83.6, Inconclusive, 83.6 + 16.449},
		"at the limit":           {Max, 100, Inconclusive, 116.449},
		"in the band above":      {Max, 116.4, Inconclusive, 116.4 + 16.449},
		"just above a maximum":   {Max, 116.5, Fail, 116.5 - 16.449},
		"well above a maximum":   {Max, 500, Fail, 500 - 16.449},
		"well above a minimum":   {Min, 150, Pass, 150 - 16.449},
		"in the band, a minimum": {Min, 100, Inconclusive, 100 - 16.449},
		"below a minimum":        {Min, 83.5, Fail, 83.5 + 16.449},
	} {
		t.Run(name, func(t *testing.T) {
			d := Decide(Limit{Quantity: "decay_rate", Bound: c.bound, Value: 100}, rate(c.value, 10))
			assert.Equal(t, c.want, d.Verdict)
			assert.InDelta(t, c.decided, d.DecidedBy, 0.001)
			assert.Equal(t, c.want == Inconclusive, d.Reason != "")
		})
	}
}

func TestRisksSetTheBandOnEachSideOnItsOwn(t *testing.T) {
	l := Limit{Quantity: "decay_rate", Value: 100, RiskPass: 0.01, RiskFail: 0.25}
	assert.Equal(t, Inconclusive, Decide(l, rate(77, 10)).Verdict, "2.326 u are needed to pass")
	assert.Equal(t, Pass, Decide(l, rate(76, 10)).Verdict)
	assert.Equal(t, Inconclusive, Decide(l, rate(106, 10)).Verdict, "0.674 u are needed to fail")
	assert.Equal(t, Fail, Decide(l, rate(107, 10)).Verdict)
}

func TestFewDegreesOfFreedomWidenTheBand(t *testing.T) {
	l := Limit{Quantity: "decay_rate", Value: 100}
	e := rate(80, 10)
	assert.Equal(t, Pass, Decide(l, e).Verdict)
	e.DegreesOfFreedom = 4 // t = 2.132
	assert.Equal(t, Inconclusive, Decide(l, e).Verdict)
}

func TestExactEstimateIsHeldAgainstTheLimitItself(t *testing.T) {
	l := Limit{Quantity: "drop", Value: 100}
	assert.Equal(t, Pass, Decide(l, rate(100, 0)).Verdict)
	assert.Equal(t, Fail, Decide(l, rate(100.0001, 0)).Verdict)
}

func TestNothingThatIsNotANumberPassesOrFails(t *testing.T) {
	nan := math.NaN()
	limit := Limit{Quantity: "decay_rate", Value: 100}
	for _, rule := range []Rule{Guarded, Simple} {
		for _, bound := range []Bound{Max, Min} {
			l := limit
			l.Rule, l.Bound = rule, bound
			dof := rate(50, 1)
			dof.DegreesOfFreedom = nan
			for name, d := range map[string]Decision{
				"value": Decide(l, rate(nan, 1)), "u": Decide(l, rate(50, nan)), "negative u": Decide(l, rate(50, -1)),
				"dof": Decide(l, dof),
			} {
				assert.Equal(t, Inconclusive, d.Verdict, name)
				assert.NotEmpty(t, d.Reason, name)
			}
			l.Value = nan
			assert.Equal(t, Inconclusive, Decide(l, rate(50, 1)).Verdict, "limit")
		}
	}
	for _, risk := range []float64{nan, -0.1, 0.6} {
		l := limit
		l.RiskPass = risk
		assert.Equal(t, Inconclusive, Decide(l, rate(1, 1)).Verdict, "risk %g", risk)
	}
}

func TestSimpleRuleNeedsASmallUncertainty(t *testing.T) {
	l := Limit{Quantity: "decay_rate", Value: 90, Rule: Simple} // U_max 30
	assert.Equal(t, Pass, Decide(l, rate(89.9, 15)).Verdict)
	assert.Equal(t, Fail, Decide(l, rate(90.1, 15)).Verdict)
	assert.Equal(t, Pass, Decide(l, rate(90, 15)).Verdict, "at the limit conforms")
	d := Decide(l, rate(10, 15.4)) // 1.96 · 15.4 = 30.2
	assert.Equal(t, Inconclusive, d.Verdict)
	assert.Contains(t, d.Reason, "expanded uncertainty")
	l.UMax = 5
	assert.Equal(t, Inconclusive, Decide(l, rate(10, 15)).Verdict, "a stated U_max counts")
}

func TestSimpleRuleOnAPressureNeedsAStatedUMax(t *testing.T) {
	for _, q := range []string{"pressure_end", "pressure_after", "time_constant"} {
		l := Limit{Quantity: q, Bound: Min, Value: 95e5, Rule: Simple}
		d := Decide(l, rate(99e5, 1))
		assert.Equal(t, Inconclusive, d.Verdict, q)
		assert.Contains(t, d.Reason, "U_max", q)
		l.UMax = 1e5
		assert.Equal(t, Pass, Decide(l, rate(99e5, 1)).Verdict, q)
	}
}

func TestTimeConstantIsDecidedOnItsReciprocal(t *testing.T) {
	l := Limit{Quantity: "time_constant", Bound: Min, Value: 1000}
	// 1/τ = 0.0002 ± 0.0001 1/s: its 95 % bound 0.000364 is below 0.001.
	d := DecideReciprocal(l, rate(0.0002, 0.0001))
	assert.Equal(t, Pass, d.Verdict)
	assert.InDelta(t, 1/0.00036449, d.DecidedBy, 0.1)
	// τ's own interval reaches infinity: 1/τ = 0 ± 0.0005.
	assert.Equal(t, Pass, DecideReciprocal(l, rate(0, 0.0005)).Verdict)
	assert.Equal(t, Inconclusive, DecideReciprocal(l, rate(0, 0.001)).Verdict)
	f := DecideReciprocal(l, rate(0.002, 0.0001))
	assert.Equal(t, Fail, f.Verdict)
	assert.Equal(t, l, f.Limit, "the limit is given back as written")
	assert.True(t, math.IsInf(DecideReciprocal(l, rate(-0.002, 0.0001)).DecidedBy, 1))
	assert.Equal(t, Inconclusive, DecideReciprocal(l, rate(math.NaN(), 1)).Verdict)
	assert.Equal(t, Inconclusive, DecideReciprocal(Limit{Quantity: "time_constant", Bound: Min}, rate(0, 0)).Verdict)
	// Decide takes the estimate of τ itself there.
	assert.Equal(t, Pass, Decide(l, rate(5000, 2000)).Verdict)
}

// The simple rule's UMax, a time, is held against U(1/τ) at the limit:
// 250 s at 1000 s is 0.00025 1/s, which is 1.96 × 0.00012755 1/s.
func TestSimpleRuleOnATimeConstantCarriesUMaxToTheReciprocal(t *testing.T) {
	l := Limit{Quantity: "time_constant", Bound: Min, Value: 1000, Rule: Simple, UMax: 250}
	assert.Equal(t, Pass, DecideReciprocal(l, rate(0, 0.000127)).Verdict)
	assert.True(t, math.IsInf(DecideReciprocal(l, rate(0, 0.000127)).DecidedBy, 1))
	f := DecideReciprocal(l, rate(0.0011, 0.000127))
	assert.Equal(t, Fail, f.Verdict)
	assert.InDelta(t, 1/0.0011, f.DecidedBy, 1e-9)
	assert.Equal(t, l, f.Limit, "the limit is given back as written")
	d := DecideReciprocal(l, rate(0.0002, 0.000128))
	assert.Equal(t, Inconclusive, d.Verdict)
	assert.Contains(t, d.Reason, "251 s is more than the 250 s")
	// τ far above the limit: u(τ) = τ²·u(1/τ) is beyond UMax, u(1/τ) is not.
	assert.Equal(t, Pass, Decide(l, rate(20000, 2000)).Verdict)
	assert.Equal(t, Inconclusive, DecideReciprocal(l, rate(math.NaN(), 1)).Verdict)
	l.UMax = 0
	d = DecideReciprocal(l, rate(0.0002, 0.0001))
	assert.Equal(t, Inconclusive, d.Verdict)
	assert.Contains(t, d.Reason, "U_max")
}
