package analysis

import (
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// reasonUnsettled is why a look decides nothing yet.
const reasonUnsettled = "the loss is not seen to have settled yet"

// steadyShare is the share of the rate that a limit allows by which the rates
// at the start and at the end of the time held may differ (95 %) in a loss that
// has settled: the mean rate is then within about three eighths of the limit of
// either of them. Less would keep units far inside their limit waiting for the
// noise alone. No source.
const steadyShare = 0.75

// settled reports whether the rate changes, beside each limit that looks may
// decide, so little that its mean may be judged. A slowing that is clear but
// small beside the limit does no harm; one that the noise still hides might.
// A limit on what is not known decides nothing.
func (b bend) settled(limits []verdict.Limit, limited []Quantity) bool {
	for i, l := range limits {
		known := limited[i].Absent == "" || limited[i].Reciprocal != nil
		if known && DecidedByLooks(l.Quantity) && !(b.change < steadyShare*b.allowed(l)) {
			return false
		}
	}
	return true
}

// allowed is the loss rate that a limit on any of byLook allows, Pa/s; NaN
// where it cannot be told.
func (b bend) allowed(l verdict.Limit) float64 {
	switch l.Quantity {
	case quantityLeakFlow:
		return math.Abs(l.Value / b.flow)
	case quantityPressureAfter:
		return math.Abs(b.level-l.Value) / l.After
	case quantityTimeConstant:
		return b.level / l.Value
	}
	return math.Abs(l.Value)
}

// grossShare is how many times smaller than its stated risk the chance is with
// which one look fails a loss that is not seen to have settled. That is beside
// what is spent: with ten looks a hundredth of the risk at most.
const grossShare = 1000

// unsettled takes a look at which the loss is not seen to have settled. It
// uses up nothing of a risk and decides nothing, but for a loss so gross that
// the least of it over the whole hold still breaks a limit.
func (l *looking) unsettled(look *Look, a *Assessment, limited []Quantity) {
	look.Why, l.bend.unsettled = reasonUnsettled, true
	var tried []verdict.Limit
	for i, limit := range l.limits {
		_, fail := limit.Risks()
		tried = append(tried, limit.AtLook(0, fail/grossShare))
		if DecidedByLooks(limit.Quantity) && l.decideBent(tried[i], limited[i], decay.Result{}).Verdict == verdict.Fail {
			look.Judged = true
		}
	}
	if !look.Judged {
		return
	}
	look.Why, l.tried, l.estimates = "", tried, limited
	for _, limit := range tried {
		seen := LimitLook{Quantity: limit.Quantity, Information: math.NaN(), Pass: math.NaN(), Fail: math.NaN()}
		if DecidedByLooks(limit.Quantity) && limit.Rule != verdict.Simple {
			seen.Pass, seen.Fail = math.Inf(1), uncertainty.T(1-limit.RiskFail, math.Inf(1))
		}
		look.Limits = append(look.Limits, seen)
	}
	if l.shown {
		l.widen(a, limited)
	}
}
