package verdict

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/stat/distuv"

	"holdbench/analysis/uncertainty"
)

// With no knowledge beforehand the guarded rule's risk is the probability
// that a unit so measured does not conform: PASS at risk r exactly where the
// conformance probability reaches 1 − r.
//
// Source: JCGM 106:2012, examples (mark M; the probabilities recomputed,
// mark C).
func TestJCGM106ConformanceProbabilities(t *testing.T) {
	for _, c := range []struct {
		name        string
		bound       Bound
		y, u, limit float64
		want        float64 // p_c, four digits
	}{
		{"Zener diode, upper limit", Max, -5.47, 0.05, -5.40, 0.9192},
		{"container burst, lower limit", Min, 509.7, 8.6, 490, 0.9890},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := uncertainty.Estimate{Value: c.y, StdUncertainty: c.u, DegreesOfFreedom: math.Inf(1)}
			at := func(risk float64) Verdict {
				return Decide(Limit{Quantity: "pressure_end", Bound: c.bound, Value: c.limit, RiskPass: risk}, e).Verdict
			}
			assert.Equal(t, Pass, at(1-c.want+0.00005))
			assert.Equal(t, Inconclusive, at(1-c.want-0.00005))
		})
	}
}

// JCGM 106, two-sided example (motor oil, mark M): 13.6 ± 1.8
// between 12.5 and 16.3 conforms with probability 0.933 − 0.271 = 0.663. Each
// limit alone gives its term.
func TestJCGM106TwoSidedExampleTermByTerm(t *testing.T) {
	e := uncertainty.Estimate{Value: 13.6, StdUncertainty: 1.8, DegreesOfFreedom: math.Inf(1)}
	// A risk may be at most one half, so the rejection risk serves the term.
	upper := distuv.UnitNormal.CDF((16.3 - 13.6) / 1.8)
	lower := distuv.UnitNormal.CDF((12.5 - 13.6) / 1.8)
	assert.InDelta(t, 0.933, upper, 0.0005)
	assert.InDelta(t, 0.271, lower, 0.0005)
	for _, c := range []struct {
		limit Limit
		risk  float64
	}{
		{Limit{Quantity: "pressure_end", Bound: Max, Value: 16.3}, 1 - upper},
		{Limit{Quantity: "pressure_end", Bound: Min, Value: 12.5}, lower},
	} {
		c.limit.RiskPass = c.risk + 1e-6
		assert.Equal(t, Pass, Decide(c.limit, e).Verdict)
		c.limit.RiskPass = c.risk - 1e-6
		assert.Equal(t, Inconclusive, Decide(c.limit, e).Verdict)
	}
}

// Rules by their guard band: 1.645 u for 5 % (ISO 14253-1), 2 u
// for 2.28 % (ILAC-G8:09/2019). Mark M, risks mark C.
func TestGuardBandsOfOtherRules(t *testing.T) {
	for _, c := range []struct{ band, risk float64 }{{1.6449, 0.05}, {2, 0.02275}} {
		l := Limit{Quantity: "decay_rate", Value: 1000, RiskPass: c.risk}
		assert.Equal(t, Pass, Decide(l, rate(1000-c.band*100-0.01, 100)).Verdict)
		assert.Equal(t, Inconclusive, Decide(l, rate(1000-c.band*100+0.01, 100)).Verdict)
	}
}
