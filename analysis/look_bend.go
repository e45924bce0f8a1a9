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
	reasonBends  = "the loss is not seen to be steady yet: the hold's own end may say otherwise"
)

// bend is how the loss bends at a look before the hold's own end; the zero
// value is one that need not be asked.
//
// Before its own end a hold is decided only where the rest of it is not
// expected to say otherwise. What is left of settling after locking makes a
// loss slow, ever less, so that a rate that falls evenly is the least the
// whole hold can lose. So a FAIL stands only if that least, at the end of its
// interval, is beyond the limit too: a loss must be seen to be steady, or be
// gross. A PASS needs no such proof, because a loss that slows only becomes
// smaller; but where the loss is seen to quicken, the rate that it leads to
// must pass as well.
type bend struct {
	// asked: the look is before the hold's own end; unknown: it cannot be told.
	asked, unknown bool
	// seen: the loss clearly slows or quickens.
	seen bool
	// least and most are by how much the decay rate over the whole hold may be
	// less, or is more, than up to now, Pa/s.
	least, most float64
	// flow is leak_flow over leak_rate.
	flow float64
	// change is by how much the rates at the start and the end of the time held
	// differ at most (95 %), Pa/s; level the pressure there, Pa.
	change, level float64
	// unsettled: the change is not seen to be small beside each limit.
	unsettled bool
}

// bendLevel is the one-sided level of the interval of the bend.
const bendLevel = 0.95

// bent asks how the loss bends.
func (l *looking) bent(a Assessment) bend {
	d := a.Diagnostics
	crooked, k := uncertainty.T(signLevel, d.CurvatureDOF), uncertainty.T(bendLevel, d.CurvatureDOF)
	slowing, ok := slowing(a.Curves)
	switch {
	case l.time() >= l.Hold || l.last():
		return bend{}
	case math.IsNaN(d.CurvatureT) || math.IsNaN(crooked) || !ok:
		return bend{asked: true, unknown: true}
	}
	b := bend{asked: true, seen: math.Abs(d.CurvatureT) > crooked}
	rate := a.Estimates[quantityDecayRate].Value
	b.least = carriedOn(rate, math.Max(slowing+k*d.SlowingU, 0), l.time(), l.Hold)
	if d.CurvatureT < -crooked {
		b.most = carriedOn(rate, math.Min(slowing-k*d.SlowingU, 0), l.time(), l.Hold)
	}
	b.flow = a.Estimates[quantityLeakFlow].Value / a.Estimates[quantityLeakRate].Value
	b.change, b.level = (math.Abs(slowing)+k*d.SlowingU)*l.time(), a.Curves.Compensated[0]
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
	lost := rate*time + end*rest - slowing*rest*rest/2 // in the whole of it
	return lost/whole - rate
}

// decideBent decides a limit at a look, if the rest of the hold is not
// expected to say otherwise.
func (l *looking) decideBent(tried verdict.Limit, e Quantity, fitted decay.Result) verdict.Decision {
	d := decideOne(tried, e, fitted)
	if !l.bend.asked || d.Verdict == verdict.Inconclusive {
		return d
	}
	if l.bend.unsettled && d.Verdict != verdict.Fail {
		return verdict.Decision{Limit: tried, DecidedBy: d.DecidedBy, Reason: reasonUnsettled}
	}
	if later, ok := l.bend.later(tried, e, d.Verdict); ok && decideOne(tried, later, fitted).Verdict == d.Verdict {
		return d
	}
	return verdict.Decision{Limit: tried, DecidedBy: d.DecidedBy, Reason: reasonBends}
}

// later is the estimate over the whole hold that speaks most against a
// verdict; false where that cannot be told.
func (b bend) later(l verdict.Limit, e Quantity, v verdict.Verdict) (Quantity, bool) {
	change := b.least
	if (v == verdict.Pass) == (l.Bound == verdict.Max) {
		change = b.most
	}
	switch l.Quantity {
	case quantityDecayRate, quantityLeakRate, quantityTestPressure:
		e.Value += change
	case quantityLeakFlow:
		e.Value += change * b.flow
	default:
		return e, !b.seen
	}
	return e, true
}
