package verdict

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"holdbench/analysis/uncertainty"
)

// Chances returns how probable PASS and FAIL are for a unit whose true value
// is e.Value when it is measured with the standard uncertainty and degrees of
// freedom of e; the rest is INCONCLUSIVE. The estimate is taken to scatter
// normally about the truth, and a guarded decision's own uncertainty about its
// true one as degrees of freedom say. Figures that are none give (0, 0).
//
// Source: the noncentral t distribution, P((y−L)/û ≤ −t) (mark C).
func Chances(l Limit, e uncertainty.Estimate) (pass, fail float64) {
	if l.Quantity == timeConstant && l.Bound == Min {
		if !(e.Value > 0) {
			return 0, 0
		}
		return ChancesOfReciprocal(l, reciprocal(e))
	}
	excess := l.Exceeded(e.Value)
	if l.Rule == Simple {
		if !(e.Expanded(simpleLevel) <= l.LargestU()) {
			return 0, 0
		}
		return chancesBeyond(excess, e, 0, 0)
	}
	quantile := func(stated float64) float64 {
		r := risk(stated)
		if !(r > 0 && r <= 0.5) {
			return math.NaN()
		}
		return uncertainty.T(1-r, e.DegreesOfFreedom)
	}
	return chancesBeyond(excess, e, quantile(l.RiskPass), quantile(l.RiskFail))
}

// ChancesOfReciprocal are Chances for a limit on a time τ that is decided on
// 1/τ, from the estimate of 1/τ in 1/s, as DecideReciprocal decides.
func ChancesOfReciprocal(l Limit, rate uncertainty.Estimate) (pass, fail float64) {
	if !(l.Value > 0) {
		return 0, 0
	}
	turned := l
	turned.Quantity, turned.Value, turned.Bound = "", 1/l.Value, Max
	if l.Bound == Max {
		turned.Bound = Min
	}
	turned.UMax = l.LargestU() / (l.Value * l.Value)
	return Chances(turned, rate)
}

// chancesBeyond: the truth lies by excess beyond the limit.
func chancesBeyond(excess float64, e uncertainty.Estimate, toPass, toFail float64) (pass, fail float64) {
	u := e.StdUncertainty
	switch {
	case math.IsNaN(excess+toPass+toFail) || !(u >= 0):
		return 0, 0
	case u == 0 && excess <= 0:
		return 1, 0
	case u == 0:
		return 0, 1
	}
	return below(-toPass, excess/u, e.DegreesOfFreedom), below(-toFail, -excess/u, e.DegreesOfFreedom)
}

// farShift and manyTimes are from where on the noncentral t distribution is replaced by
// its normal approximation: its series underflows there, or there is no
// difference.
const (
	farShift  = 30
	manyTimes = 1e4
)

// below returns P(T ≤ x) of a noncentral t distribution.
func below(x, shift, dof float64) float64 {
	if !(dof > 0) {
		return 0
	}
	if math.Abs(shift) > farShift || dof > manyTimes {
		spread := 1.0
		if !math.IsInf(dof, 1) {
			spread = math.Sqrt(1 + x*x/(2*dof))
		}
		return distuv.UnitNormal.CDF((x - shift) / spread)
	}
	return distuv.NoncentralT{Nu: dof, Mu: shift}.CDF(x)
}
