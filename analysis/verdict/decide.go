package verdict

import (
	"fmt"
	"math"

	"holdbench/analysis/uncertainty"
)

// defaultRisk is the risk of a guarded verdict where the limit states none.
const defaultRisk = 0.05

// simpleLevel is the coverage of the expanded uncertainty that the simple
// rule holds against UMax.
const simpleLevel = 0.95

// Decide holds an estimate against a limit. The estimate must be of the
// limit's quantity, in SI.
//
//	guarded, max L:  PASS if y + t(1−r_pass; ν)·u ≤ L,  FAIL if y − t(1−r_fail; ν)·u > L
//	guarded, min L:  PASS if y − t(1−r_pass; ν)·u ≥ L,  FAIL if y + t(1−r_fail; ν)·u < L
//	simple:          y against L where the expanded uncertainty (95 %) is at most UMax
//
// Everything else is INCONCLUSIVE, also where any of the figures is NaN. A
// min limit on time_constant is decided on the reciprocal by either rule: see
// DecideReciprocal.
//
// Source: [1] clause 8.3, guarded acceptance and rejection (mark M); the
// simple rule's UMax is the house's own.
func Decide(l Limit, e uncertainty.Estimate) Decision {
	switch {
	case l.Quantity == timeConstant && l.Bound == Min:
		return DecideReciprocal(l, reciprocal(e))
	case l.Rule == Simple:
		return decideSimple(l, e)
	}
	return decideGuarded(l, e)
}

// Undecided is the decision on a limit whose quantity has no estimate, for
// the given reason.
func Undecided(l Limit, reason string) Decision {
	return Decision{Limit: l, DecidedBy: math.NaN(), Reason: reason}
}

func decideGuarded(l Limit, e uncertainty.Estimate) Decision {
	worse, better := bounds(l, e)
	switch {
	case math.IsNaN(worse) || math.IsNaN(better) || math.IsNaN(l.Value):
		return Undecided(l, fmt.Sprintf("%s: no figure to decide by", l.Title()))
	case l.Exceeded(worse) <= 0:
		return Decision{Limit: l, DecidedBy: worse, Verdict: Pass}
	case l.Exceeded(better) > 0:
		return Decision{Limit: l, DecidedBy: better, Verdict: Fail}
	}
	return Decision{Limit: l, DecidedBy: worse, Reason: l.withinGuardBand(e)}
}

// bounds returns the bound that a PASS needs inside the limit and the bound
// that a FAIL needs beyond it.
func bounds(l Limit, e uncertainty.Estimate) (worse, better float64) {
	toPass := oneSided(e, risk(l.RiskPass))
	toFail := toPass
	if l.RiskFail != l.RiskPass {
		toFail = oneSided(e, risk(l.RiskFail))
	}
	if l.Bound == Min {
		return e.Value - toPass, e.Value + toFail
	}
	return e.Value + toPass, e.Value - toFail
}

func risk(stated float64) float64 {
	if stated == 0 {
		return defaultRisk
	}
	return stated
}

// oneSided returns t(1−risk; ν)·u; NaN for a risk outside (0, 0.5] or an
// uncertainty that is none, +Inf for a risk of next to nothing.
func oneSided(e uncertainty.Estimate, risk float64) float64 {
	switch {
	case !(risk > 0 && risk <= 0.5) || !(e.StdUncertainty >= 0):
		return math.NaN()
	case risk < leastSpent:
		return math.Inf(1)
	case e.StdUncertainty == 0:
		return 0
	}
	return uncertainty.T(1-risk, e.DegreesOfFreedom) * e.StdUncertainty
}

func decideSimple(l Limit, e uncertainty.Estimate) Decision {
	most := l.LargestU()
	u := e.Expanded(simpleLevel)
	switch {
	case math.IsNaN(most):
		return Undecided(l, fmt.Sprintf("%s: the simple rule needs a stated U_max", l.Title()))
	case math.IsNaN(l.Exceeded(e.Value)):
		return Undecided(l, fmt.Sprintf("%s: no figure to decide by", l.Title()))
	case !(u >= 0 && u <= most):
		return Decision{Limit: l, DecidedBy: e.Value, Reason: l.tooUncertain(u, most)}
	case l.Exceeded(e.Value) > 0:
		return Decision{Limit: l, DecidedBy: e.Value, Verdict: Fail}
	}
	return Decision{Limit: l, DecidedBy: e.Value, Verdict: Pass}
}

// Exceeded returns by how much x lies beyond the limit, in the quantity's SI
// unit: above 0 where it breaks it, 0 or less where it conforms, NaN where
// that cannot be said.
func (l Limit) Exceeded(x float64) float64 {
	excess := x - l.Value
	if l.Bound == Min {
		return -excess
	}
	return excess
}

// LargestU returns the largest expanded uncertainty (95 %) with which the
// simple rule may decide: UMax where stated, else a third of the limit for
// losses and rates; NaN where it must be stated and is not.
func (l Limit) LargestU() float64 {
	if l.UMax != 0 {
		return l.UMax
	}
	if row, ok := Lookup(l.Quantity); !ok || row.StateUMax {
		return math.NaN()
	}
	return math.Abs(l.Value) / 3
}
