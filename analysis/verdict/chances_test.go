package verdict

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/stat/distuv"

	"holdbench/analysis/uncertainty"
)

func measured(truth, u, dof float64) uncertainty.Estimate {
	return uncertainty.Estimate{Value: truth, StdUncertainty: u, DegreesOfFreedom: dof}
}

// Chances against the decisions themselves: estimates drawn about the truth,
// each with an uncertainty of its own.
func TestChancesAgreeWithDecisions(t *testing.T) {
	const trials = 4000
	r := rand.New(rand.NewPCG(106, 2012))
	for _, l := range []Limit{
		{Quantity: "decay_rate", Value: 10, RiskPass: 0.05, RiskFail: 0.01},
		{Quantity: "pressure_end", Bound: Min, Value: 10, RiskPass: 0.1, RiskFail: 0.05},
		{Quantity: "decay_rate", Value: 10, Rule: Simple},
	} {
		for _, dof := range []float64{4, 30, math.Inf(1)} {
			for _, truth := range []float64{5, 8, 9.5, 10, 11, 14} {
				if l.Rule == Simple && !math.IsInf(dof, 1) {
					continue
				}
				var passed, failed float64
				for range trials {
					u := 1.0
					if !math.IsInf(dof, 1) {
						u = math.Sqrt(distuv.ChiSquared{K: dof, Src: r}.Rand() / dof)
					}
					switch Decide(l, measured(truth+r.NormFloat64(), u, dof)).Verdict {
					case Pass:
						passed++
					case Fail:
						failed++
					}
				}
				pass, fail := Chances(l, measured(truth, 1, dof))
				for _, c := range []struct{ want, got float64 }{{pass, passed / trials}, {fail, failed / trials}} {
					assert.InDelta(t, c.want, c.got, 4*math.Sqrt(c.want*(1-c.want)/trials)+1e-4, "%s %v, ν %g, true %g", l.Quantity, l.Rule, dof, truth)
				}
			}
		}
	}
}

// A unit exactly at the limit passes and fails at the stated risks, whatever
// the degrees of freedom.
func TestChancesAtTheLimitAreTheRisks(t *testing.T) {
	for _, dof := range []float64{1, 2.5, 9, 400, 2e4, math.Inf(1)} {
		pass, fail := Chances(Limit{Quantity: "drop", Value: 3, RiskPass: 0.05, RiskFail: 0.02}, measured(3, 0.7, dof))
		assert.InDelta(t, 0.05, pass, 2e-5, "ν %g", dof)
		assert.InDelta(t, 0.02, fail, 2e-5, "ν %g", dof)
	}
}

func TestChancesFarFromTheLimitAreCertain(t *testing.T) {
	l := Limit{Quantity: "drop", Value: 10}
	for _, dof := range []float64{8, 1000, math.Inf(1)} {
		pass, fail := Chances(l, measured(0, 0.2, dof))
		assert.InDeltaSlice(t, []float64{1, 0}, []float64{pass, fail}, 1e-6)
		pass, fail = Chances(l, measured(40, 0.2, dof))
		assert.InDeltaSlice(t, []float64{0, 1}, []float64{pass, fail}, 1e-6)
	}
	pass, fail := Chances(l, measured(9, 0, 3))
	assert.Equal(t, []float64{1, 0}, []float64{pass, fail})
	pass, fail = Chances(l, measured(11, 0, 3))
	assert.Equal(t, []float64{0, 1}, []float64{pass, fail})
}

// A min limit on a time constant is decided on the reciprocal: a loss so much
// smaller than the limit's passes surely although its own interval is endless.
func TestChancesOfATimeConstant(t *testing.T) {
	l := Limit{Quantity: "time_constant", Bound: Min, Value: 1000, RiskPass: 0.05, RiskFail: 0.05}
	tau := 10_000.0 // 1/τ = 1e-4 ± 1e-4 against 1e-3
	pass, fail := Chances(l, measured(tau, 1e-4*tau*tau, math.Inf(1)))
	assert.InDelta(t, distuv.UnitNormal.CDF(9-1.6449), pass, 1e-6)
	assert.InDelta(t, 0, fail, 1e-6)
}

func TestChancesOfNothingAreNone(t *testing.T) {
	nan := math.NaN()
	for _, e := range []uncertainty.Estimate{measured(nan, 1, 5), measured(1, nan, 5), measured(1, 1, nan), measured(1, -1, 5), measured(1, 1, 0)} {
		pass, fail := Chances(Limit{Quantity: "drop", Value: 10}, e)
		assert.Equal(t, []float64{0, 0}, []float64{pass, fail}, "%+v", e)
	}
	for _, l := range []Limit{
		{Quantity: "drop", Value: nan}, {Quantity: "drop", Value: 1, RiskPass: 0.7}, {Quantity: "pressure_end", Value: 1, Rule: Simple},
		{Quantity: "time_constant", Bound: Min}, {Quantity: "drop", Value: 1, Rule: Simple, UMax: 0.1},
	} {
		pass, fail := Chances(l, measured(2, 1, 9))
		assert.Equal(t, []float64{0, 0}, []float64{pass, fail}, "%+v", l)
	}
}
