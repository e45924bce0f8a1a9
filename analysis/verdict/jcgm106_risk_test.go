package verdict

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/stat/distuv"
)

// accepting is a binary rule: accepted between low and high, else rejected.
func accepting(low, high, u float64) func(x float64) (pass, fail float64) {
	return func(x float64) (pass, fail float64) {
		pass = distuv.UnitNormal.CDF((high-x)/u) - distuv.UnitNormal.CDF((low-x)/u)
		return pass, 1 - pass
	}
}

// Ball bearings, JCGM 106:2012, 9.5.4: radial error of motion, a gamma prior
// of mean 1 µm and standard deviation 0.5 µm, at most 2 µm, measured with
// 0.25 µm. Printed: 4.2 % not conforming, R_C 0.8 %, R_P 1.7 %; for R_C 0.1 %
// A_U 1.67 µm, R_P 7.6 %. Mark V; further digits recomputed, mark C.
func TestJCGM106BallBearings(t *testing.T) {
	prior := Losses(1, 0.5)
	limit := Limit{Quantity: "drop", Value: 2}
	at := func(a float64) GlobalRisk {
		return Global(prior, limit.Tolerance(), accepting(math.Inf(-1), a, 0.25))
	}
	simple := at(2)
	assert.InDelta(t, 0.0424, simple.NotConforming, 5e-5, "V C")
	assert.InDelta(t, 0.04238, simple.NotConforming, 5e-6, "C")
	assert.InDelta(t, 0.00802, simple.Consumer, 5e-6, "V C")
	assert.InDelta(t, 0.0174, simple.Producer, 5e-5, "V C")
	guarded := at(1.672)
	assert.InDelta(t, 0.001, guarded.Consumer, 3e-6, "V C")
	assert.InDelta(t, 0.0755, guarded.Producer, 1e-4, "V C")
	assert.InDelta(t, 1.6718, acceptanceFor(0.001, at), 1e-4, "C")
	assert.InDelta(t, 1, guarded.Pass+guarded.Fail+guarded.Inconclusive, 1e-9)
	assert.Zero(t, math.Round(1e9*guarded.Inconclusive))
}

// acceptanceFor halves its way to the acceptance limit of a consumer's risk.
func acceptanceFor(consumer float64, at func(a float64) GlobalRisk) float64 {
	low, high := 1.0, 2.0
	for range 40 {
		if middle := (low + high) / 2; at(middle).Consumer > consumer {
			high = middle
		} else {
			low = middle
		}
	}
	return low
}

// Precision resistors, JCGM 106:2012: 1500 Ω, prior 0.12 Ω, measured with
// 0.04 Ω, tolerance ± 0.2 Ω, guard bands 0, 0.02 and 0.04 Ω. Mark M, recomputed
// C.
func TestJCGM106Resistors(t *testing.T) {
	prior := distuv.Normal{Mu: 1500, Sigma: 0.12}
	for _, row := range []struct{ guard, consumer, producer, half float64 }{
		{0, 0.0189, 0.0372, 5e-5}, {0.02, 0.0099, 0.0690, 5e-5}, {0.04, 0.0043, 0.115, 5e-4},
	} {
		g := Global(prior, Tolerance{1499.8, 1500.2}, accepting(1499.8+row.guard, 1500.2-row.guard, 0.04))
		assert.InDelta(t, 1-0.9044, g.NotConforming, 5e-5, "M C")
		assert.InDelta(t, row.consumer, g.Consumer, 5e-5, "M C, guard band %g", row.guard)
		assert.InDelta(t, row.producer, g.Producer, row.half, "M C, guard band %g", row.guard)
	}
}

// A lower limit is an upper one seen from the other side.
func TestGlobalRiskOfAMinLimitMirrorsAMaxLimit(t *testing.T) {
	upper := Limit{Quantity: "drop", Value: 2, RiskPass: 0.05, RiskFail: 0.02}
	lower := Limit{Quantity: "pressure_end", Bound: Min, Value: -2, RiskPass: 0.05, RiskFail: 0.02}
	a := Global(distuv.Normal{Mu: 1, Sigma: 1}, upper.Tolerance(), func(x float64) (float64, float64) { return Chances(upper, rate(x, 0.3)) })
	b := Global(distuv.Normal{Mu: -1, Sigma: 1}, lower.Tolerance(), func(x float64) (float64, float64) { return Chances(lower, rate(x, 0.3)) })
	assert.InDeltaSlice(t, []float64{a.NotConforming, a.Consumer, a.Producer, a.Pass, a.Fail, a.Inconclusive},
		[]float64{b.NotConforming, b.Consumer, b.Producer, b.Pass, b.Fail, b.Inconclusive}, 1e-9)
	assert.Greater(t, a.Inconclusive, 0.1)
}
