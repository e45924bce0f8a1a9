package analysis

import (
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/verdict"
)

// Looks say that a hold is looked at while it grows, and may be decided
// before its end or go on past it. Plan and spending are fixed beforehand.
type Looks struct {
	// Plan holds the times of the looks since t0, s, increasing; the last is
	// the longest that the hold may become.
	Plan []float64
	// Hold is the hold's own length, s: one of Plan.
	Hold     float64
	Spending verdict.Spending
	// Taken are the looks that were taken, in their order. The hold is judged
	// at the last of them.
	Taken []TakenLook
}

// TakenLook is one look that was taken.
type TakenLook struct {
	// Number is its place in the plan, from 1.
	Number int
	// At is its instant, s since the start of the recording: it is made of
	// the readings up to then.
	At float64
}

// Longest is the longest that the hold may become, s: the last planned look's
// time since t0.
func (l Looks) Longest() float64 { return l.Plan[len(l.Plan)-1] }

// Look is what one look saw.
type Look struct {
	// Number is its place among Planned looks, Time its time since t0, s.
	Number, Planned int
	Time            float64
	// Judged is false where the hold could not be judged at this look; then
	// Why says the reason, and nothing of the risk was used up.
	Judged bool
	Why    string
	// Verdict is that of the circuit at this look.
	Verdict verdict.Verdict
	// Limits, in the order of the hold's; none where not judged.
	Limits []LimitLook
}

// LimitLook is one limit at one look.
type LimitLook struct {
	Quantity string
	// Information is the share of what the longest hold is expected to gather
	// that was gathered; NaN where the limit is not decided by looks, or no
	// look has known its quantity.
	Information float64
	// Pass and Fail are the boundaries: so many standard uncertainties the
	// estimate must lie on that side of the limit (of a normal distribution;
	// with few degrees of freedom more). +Inf where nothing may be decided,
	// NaN as above.
	Pass, Fail float64
	Verdict    verdict.Verdict
}

// Early says how a hold was looked at and why it ended where it did.
type Early struct {
	Looks []Look
	// Planned is the number of looks; Hold and Longest are the hold's own
	// length and the longest allowed, s.
	Planned       int
	Hold, Longest float64
	Spending      verdict.Spending
	// Time is that of the last look since t0, s.
	Time float64
	// Stopped: the last look was before the hold's own end. Extended: after.
	Stopped, Extended bool
	// GoOn is true where nothing is decided and more time can settle it; Why
	// says so in words, or why it cannot.
	GoOn bool
	Why  string
	// Text says in words at which look the hold was judged, and that the
	// intervals allow for the looks.
	Text string
}

// upTo is the hold as it stood at a look: with no reading that came later.
func (h Hold) upTo(l TakenLook) Hold {
	cut := func(c series.Column) series.Column { return c.Window(math.Inf(-1), l.At) }
	h.End, h.Completed = l.At, true
	h.Trapped, h.Feed, h.Temperature, h.Ambient = cut(h.Trapped), cut(h.Feed), cut(h.Temperature), cut(h.Ambient)
	h.MoreProbes = append([]decay.Probe(nil), h.MoreProbes...)
	for i := range h.MoreProbes {
		h.MoreProbes[i].Column = cut(h.MoreProbes[i].Column)
	}
	if h.Other != nil {
		other := *h.Other
		other.Pressure = cut(other.Pressure)
		h.Other = &other
	}
	if h.Zeros != nil && !(h.Zeros.After.At <= l.At) {
		h.Zeros = nil // the zero after the hold is not read yet
	}
	var segments []decay.Segment
	for _, s := range h.Segments {
		if s.From < l.At {
			s.End = math.Min(s.End, l.At)
			segments = append(segments, s)
		}
	}
	h.Segments = segments
	return h
}
