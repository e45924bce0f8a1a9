package verdict

import (
	"fmt"
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// timeConstant is the quantity whose min limit is decided on the reciprocal.
const timeConstant = "time_constant"

// DecideReciprocal decides a limit on a time τ, by either rule, from the
// estimate of 1/τ (in 1/s), whose interval stays finite where that of τ
// reaches infinity: τ ≥ L is 1/τ ≤ 1/L. The simple rule's UMax, a time, is
// carried to 1/τ at the limit, where a decision turns: U(1/τ) ≤ UMax/L².
// DecidedBy is a time again, +Inf where the bound on 1/τ is not above 0. A
// limit that is not above 0 is INCONCLUSIVE.
//
// Source: JCGM 100:2008 eq. 11a with c = −1/L² (mark C).
func DecideReciprocal(l Limit, rate uncertainty.Estimate) Decision {
	if !(l.Value > 0) {
		return Undecided(l, fmt.Sprintf("%s: a limit on a time must be above 0", l.Title()))
	}
	turned := l
	turned.Value, turned.Bound = 1/l.Value, Max
	if l.Bound == Max {
		turned.Bound = Min
	}
	if l.Rule == Simple {
		return simplyReciprocal(l, turned, rate)
	}
	d := decideGuarded(turned, rate)
	d.Limit = l
	if math.IsNaN(d.DecidedBy) {
		return d
	}
	d.DecidedBy = timeOf(d.DecidedBy)
	if d.Verdict == Inconclusive {
		d.Reason = fmt.Sprintf("%s: the bound %s is not beyond doubt against the limit of %s",
			l.Title(), written(d.DecidedBy, 0, si.Time), l.Text())
	}
	return d
}

// simplyReciprocal is the simple rule on 1/τ; turned is the limit l on it.
func simplyReciprocal(l, turned Limit, rate uncertainty.Estimate) Decision {
	square := l.Value * l.Value
	turned.UMax = l.LargestU() / square
	d := decideSimple(turned, rate)
	d.Limit = l
	if math.IsNaN(d.DecidedBy) {
		return d
	}
	d.DecidedBy = timeOf(d.DecidedBy)
	if d.Verdict == Inconclusive {
		d.Reason = l.tooUncertain(square*rate.Expanded(simpleLevel), l.LargestU())
	}
	return d
}

// timeOf turns a bound on 1/τ back.
func timeOf(rate float64) float64 {
	if rate > 0 {
		return 1 / rate
	}
	return math.Inf(1)
}

// reciprocal carries an estimate of τ to one of 1/τ.
//
// Source: JCGM 100:2008 eq. 11a with c = −1/τ².
func reciprocal(e uncertainty.Estimate) uncertainty.Estimate {
	return uncertainty.Estimate{
		Value:            1 / e.Value,
		StdUncertainty:   e.StdUncertainty / (e.Value * e.Value),
		DegreesOfFreedom: e.DegreesOfFreedom,
		Quantity:         si.Dimensionless,
	}
}
