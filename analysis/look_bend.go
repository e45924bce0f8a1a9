package analysis

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"holdbench/analysis/decay"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// Why a look before the hold's own end decides nothing.
const (
	reasonUnseen = "it cannot be told yet whether the loss still settles"
	reasonBends  = ReasonStillSettling + ": where the loss goes on changing as it does, the hold's own end may say otherwise"
)

// bend is how the loss bends at a look before the hold's own end; the zero
// value is one that does not, or not any more.
//
// Before its own end a hold is decided only where that is stable. Where the
// loss is seen to slow or to quicken, what the decay rate would be over the
// whole hold, its change going on as it is, must lead to the same verdict.
// Settling slows ever less, so that this is the least the whole hold can lose:
// a loss that slows is not failed for settling that is soon over, and passes,
// because the rest of it only makes the rate smaller.
type bend struct {
	// unknown: it cannot be told.
	unknown bool
	// seen: it does, and the decay rate over the whole hold would be different
	// by change, Pa/s.
	seen   bool
	change float64
	// flow is leak_flow over leak_rate.
	flow float64
}

// bent asks how the loss bends.
func (l *looking) bent(a Assessment) bend {
	d := a.Diagnostics
	crooked := uncertainty.T(signLevel, d.CurvatureDOF)
	switch {
	case l.time() >= l.Hold || l.last():
		return bend{}
	case math.IsNaN(d.CurvatureT) || math.IsNaN(crooked):
		return bend{unknown: true}
	case math.Abs(d.CurvatureT) <= crooked:
		return bend{}
	}
	b := bend{seen: true, change: math.NaN()}
	b.flow = a.Estimates[quantityLeakFlow].Value / a.Estimates[quantityLeakRate].Value
	if slowing, ok := slowing(a.Curves); ok {
		slowing *= 1 + crooked/math.Abs(d.CurvatureT) // at the end of its interval
		b.change = carriedOn(a.Estimates[quantityDecayRate].Value, slowing, l.time(), l.Hold)
	}
	return b
}

// slowing is by how much the loss rate falls with time, Pa/s², from the means
// of three equal parts of the compensated pressure. False with too few
// readings.
func slowing(c decay.Curves) (float64, bool) {
	m := len(c.Time) / 3
	if m < 1 {
		return 0, false
	}
	var t, p [3]float64
	for i := range t {
		t[i], p[i] = stat.Mean(c.Time[i*m:(i+1)*m], nil), stat.Mean(c.Compensated[i*m:(i+1)*m], nil)
	}
	before, after := (p[1]-p[0])/(t[1]-t[0]), (p[2]-p[1])/(t[2]-t[1])
	return 2 * (after - before) / (t[2] - t[0]), t[2] > t[0]
}

// carriedOn is by how much the mean loss rate changes from the first time on to
// the whole of it, when the rate goes on falling (or rising) evenly. What was
// lost does not come back: the rate falls to 0 at most.
func carriedOn(rate, slowing, time, whole float64) float64 {
	end := math.Max(rate-slowing*time/2, 0)
	rest := whole - time
	if slowing > 0 {
		rest = math.Min(rest, end/slowing)
	}
	lost := rate*time + end*rest - slowing*rest*rest/2
	return lost/whole - rate
}

// decideBent decides a limit at a look; where the loss bends, only if it stays
// so.
func (l *looking) decideBent(tried verdict.Limit, e Quantity, fitted decay.Result) verdict.Decision {
	d := decideOne(tried, e, fitted)
	if !l.bend.seen || d.Verdict == verdict.Inconclusive {
		return d
	}
	if later, ok := l.bend.later(tried.Quantity, e); ok && decideOne(tried, later, fitted).Verdict == d.Verdict {
		return d
	}
	return verdict.Decision{Limit: tried, DecidedBy: d.DecidedBy, Reason: reasonBends}
}

// later is the estimate over the whole hold; false for what is not told by it.
func (b bend) later(quantity string, e Quantity) (Quantity, bool) {
	switch quantity {
	case quantityDecayRate, quantityLeakRate, quantityTestPressure:
		e.Value += b.change
	case quantityLeakFlow:
		e.Value += b.change * b.flow
	default:
		return e, false
	}
	return e, true
}
