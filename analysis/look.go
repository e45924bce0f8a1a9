package analysis

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"holdbench/analysis/decay"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// byLook are the quantities that the readings tell of, and that mean the same
// however long the hold has been, so that a look before its end may decide
// them.
var byLook = []string{
	quantityDecayRate, quantityLeakRate, quantityTestPressure, quantityLeakFlow, quantityPressureAfter, quantityTimeConstant,
}

// DecidedByLooks reports whether a look at a growing hold may decide a limit
// on that quantity.
func DecidedByLooks(quantity string) bool {
	row, ok := verdict.Lookup(quantity)
	return ok && !row.OfHold
}

// Watch looks at one hold as it grows and keeps what earlier looks saw, so that
// a look costs one judgement however many came before. The zero value has seen
// nothing yet. It is no safety device's watch: it decides limits, nothing else.
type Watch struct{ looking *looking }

// Assess judges the hold at the looks taken that the Watch has not seen yet, in
// turn, and returns the Assessment of the last, to the last digit that of
// Assess for the whole list. It is asked with the same hold each time, with
// more readings and more looks taken; what was read up to a look, and what is
// stated of the hold, no longer changes then. Where plan, limits, start or the
// looks seen are others, or no look came, it begins afresh. A hold without
// looks is judged by Assess.
func (w *Watch) Assess(h Hold) Assessment {
	if h.Looks == nil || len(h.Looks.Taken) == 0 || !(h.End > h.Start) {
		return Assess(h)
	}
	if !w.looking.leadsTo(h) {
		w.looking = newLooking(h)
	}
	l := w.looking
	var a Assessment
	for _, taken := range h.Looks.Taken[len(l.Taken):] {
		l.Taken = append(l.Taken, taken)
		l.at, l.shown = taken, len(l.Taken) == len(h.Looks.Taken)
		a = h.upTo(taken).assess(l)
		l.looks[len(l.looks)-1].Verdict = a.Verdict
	}
	l.finish(h.upTo(l.at), &a)
	return a
}

// looking goes through the looks at a hold. A nil one is a hold without any.
type looking struct {
	// Looks is the plan, with those taken so far.
	Looks
	limits []verdict.Limit
	start  float64
	// at is the look that is being taken, looks what was seen at those taken
	// so far, with it.
	at    TakenLook
	looks []Look
	// shown: it is the one whose intervals are given.
	shown bool
	// courses are those of the limits' quantities, rate that of the decay rate.
	courses []course
	rate    course
	// estimates are those of the limits at this look, where it was judged.
	estimates []Quantity
	// bend is how the loss bends at this look.
	bend bend
	// tried are the limits as this look holds estimates against them; nil
	// where it may not be judged.
	tried []verdict.Limit
}

// newLooking is before the first look at a hold.
func newLooking(h Hold) *looking {
	l := &looking{Looks: *h.Looks, limits: slices.Clone(h.Limits), start: h.Start, courses: make([]course, len(h.Limits))}
	l.Plan, l.Taken = slices.Clone(l.Plan), nil
	return l
}

// leadsTo reports whether the looks seen are the first of the hold's.
func (l *looking) leadsTo(h Hold) bool {
	return l != nil && len(l.Taken) < len(h.Looks.Taken) && slices.Equal(l.Taken, h.Looks.Taken[:len(l.Taken)]) &&
		slices.Equal(l.Plan, h.Looks.Plan) && l.Hold == h.Looks.Hold && l.Spending == h.Looks.Spending &&
		l.start == h.Start && slices.Equal(l.limits, h.Limits)
}

// last: there is no look after this one.
func (l *looking) last() bool { return l.at.Number >= len(l.Plan) }

// time of the look since t0, s.
func (l *looking) time() float64 { return l.at.At - l.start }

func (l *looking) begin() *Look {
	l.tried = nil
	l.looks = append(l.looks, Look{Number: l.at.Number, Planned: len(l.Plan), Time: l.time()})
	return &l.looks[len(l.looks)-1]
}

// skip notes a look at which the hold may not be judged. It uses up nothing of
// a risk.
func (l *looking) skip(why string) {
	if l != nil {
		l.begin().Why = why
	}
}

// take sets the boundaries of a look from the information gathered, and widens
// the intervals.
func (l *looking) take(a *Assessment, limited []Quantity) {
	if l == nil {
		return
	}
	look := l.begin()
	switch l.bend = l.bent(*a); {
	case l.bend.unknown:
		look.Why = reasonUnseen
		return
	case l.bend.asked && !l.bend.settled(l.limits, limited):
		l.unsettled(look, a, limited)
		return
	case l.bend.asked:
		a.Diagnostics.StillSettling = false // so far as the limits go
	}
	look.Judged = true
	l.gather(a.Estimates[quantityDecayRate], limited)
	l.tried = slices.Clone(l.limits)
	for i := range l.tried {
		look.Limits = append(look.Limits, l.try(i))
	}
	if l.shown {
		l.widen(a, limited)
	}
}

// gather feeds the courses with what this look knows.
func (l *looking) gather(rate Quantity, limited []Quantity) {
	share := l.time() / l.Longest()
	l.estimates = slices.Clone(limited)
	l.rate.take(share, rate, l.last())
	for i, q := range limited {
		l.courses[i].take(share, q, l.last())
	}
}

// try sets the limit i as this look holds an estimate against it.
func (l *looking) try(i int) LimitLook {
	limit := &l.tried[i]
	out := LimitLook{Quantity: limit.Quantity, Information: math.NaN(), Pass: math.NaN(), Fail: math.NaN()}
	if !DecidedByLooks(limit.Quantity) || limit.Rule == verdict.Simple {
		return out
	}
	c := &l.courses[i]
	pass, fail := limit.Risks()
	out.Information = c.gathered()
	out.Pass = c.boundary(l.Spending, pass)
	out.Fail = out.Pass
	if fail != pass {
		out.Fail = c.boundary(l.Spending, fail)
	}
	*limit = limit.AtLook(verdict.Level(out.Pass), verdict.Level(out.Fail))
	return out
}

// decide holds an estimate against limit i at this look.
func (l *looking) decide(i int, limit verdict.Limit, e Quantity, fitted decay.Result) verdict.Decision {
	if l == nil {
		return decideOne(limit, e, fitted)
	}
	var d verdict.Decision
	switch {
	case l.tried == nil:
		d = verdict.Undecided(limit, fmt.Sprintf("not judged at look %d of %d: %s", l.at.Number, len(l.Plan), l.looks[len(l.looks)-1].Why))
	case !DecidedByLooks(limit.Quantity) && !l.last():
		d = verdict.Undecided(limit, fmt.Sprintf("%s: belongs to the whole hold, which ended before", limit.Title()))
	default:
		d = l.decideBent(l.tried[i], e, fitted)
		d.Limit = limit
		if d.Verdict == verdict.Inconclusive && e.Absent == "" && e.Reciprocal == nil && limit.Rule == verdict.Guarded && d.Reason != reasonBends {
			d.Reason = fmt.Sprintf("%s %s (95 %%) is too close to the limit of %s to decide", limit.Title(), withExpanded(e), limit.Text())
		}
		l.looks[len(l.looks)-1].Limits[i].Verdict = d.Verdict
	}
	return d
}

// intervalLevel is the coverage of the intervals that are given.
const intervalLevel = 0.95

// widen makes the intervals of this look's estimates allow for the looks
// before it: repeated confidence intervals, which cover at all looks together
// as often as they say, so that they may be read whatever made the hold stop.
//
// Source: Jennison, C. and Turnbull, B. W., J. R. Stat. Soc. B 51 (1989) 305
// (mark M).
//
// The estimates that no limit asks for come from the same readings: their
// intervals are widened as that of the decay rate.
func (l *looking) widen(a *Assessment, limited []Quantity) {
	all := append([]string{quantityDrop}, byLook...)
	level := l.level(&l.rate)
	for _, name := range all {
		a.Estimates[name] = widened(a.Estimates[name], level)
	}
	for i, limit := range l.limits {
		if DecidedByLooks(limit.Quantity) {
			limited[i] = widened(limited[i], l.level(&l.courses[i]))
			if limit.Quantity != quantityPressureAfter {
				a.Estimates[limit.Quantity] = limited[i]
			}
		}
	}
}

// level is the chance on either side of an interval at this look.
func (l *looking) level(c *course) float64 {
	if l.bend.unsettled {
		return (1 - intervalLevel) / 2 / grossShare
	}
	return verdict.Level(c.boundary(l.Spending, (1-intervalLevel)/2))
}

// leastLevel is the chance beside which an interval need not be wider.
const leastLevel = 1e-12

func widened(q Quantity, level float64) Quantity {
	if math.IsNaN(level) || q.Absent != "" && q.Reciprocal == nil {
		return q
	}
	level = math.Max(level, leastLevel)
	factor := func(dof float64) float64 {
		return math.Max(uncertainty.T(1-level, dof)/uncertainty.T((1+intervalLevel)/2, dof), 1)
	}
	q.Widened = factor(q.DegreesOfFreedom)
	if q.Reciprocal != nil {
		turned := *q.Reciprocal
		turned.Widened = factor(turned.DegreesOfFreedom)
		q.Reciprocal = &turned
	}
	return q
}

// withExpanded writes an estimate with half its interval after the ±.
func withExpanded(e Quantity) string {
	wide := e.Estimate
	if e.Widened > 1 {
		wide.StdUncertainty *= e.Widened
	}
	return verdict.WithExpanded(wide)
}

// finish says how the looks went and whether the hold would go on.
func (l *looking) finish(h Hold, a *Assessment) {
	e := &Early{
		Looks: slices.Clone(l.looks), Planned: len(l.Plan), Hold: l.Hold, Longest: l.Longest(), Spending: l.Spending, Time: l.time(),
	}
	own := slices.Index(l.Plan, l.Hold) + 1
	e.Stopped, e.Extended = l.at.Number < own, l.at.Number > own
	switch {
	case a.Verdict != verdict.Inconclusive || l.last():
	case e.Stopped:
		e.GoOn, e.Why = true, l.undecided(*a)
	default:
		e.GoOn, e.Why = l.moreTime(h, *a)
	}
	e.Text = l.words(e, *a)
	a.Early = e
	a.reason(e.Text)
	if l.at.Number >= own && !l.last() && !e.GoOn {
		a.reason(e.Why)
	}
}

// undecided says why this look decided nothing.
func (l *looking) undecided(a Assessment) string {
	if len(a.Reasons) > 0 {
		return a.Reasons[0]
	}
	return "nothing is decided"
}

func (l *looking) words(e *Early, a Assessment) string {
	at := fmt.Sprintf("at look %d of %d, after %s", l.at.Number, len(l.Plan), Lasting(l.time()))
	allows := "; the intervals allow for the looks"
	switch {
	case l.tried == nil:
		return "not judged " + at
	case a.Verdict == verdict.Inconclusive:
		return "looked at last " + at + allows
	case e.Stopped:
		return fmt.Sprintf("decided early, %s: rates are means over the %s held%s", at, Lasting(l.time()), allows)
	case e.Extended:
		return fmt.Sprintf("the hold went on past its %s and was decided %s%s", Lasting(l.Hold), at, allows)
	}
	return "decided " + at + allows
}

// Lasting writes a time, s, as "1 min 45 s".
func Lasting(s float64) string {
	whole := int(math.Round(s))
	var parts []string
	for _, u := range []struct {
		size int
		name string
	}{{3600, "h"}, {60, "min"}, {1, "s"}} {
		if n := whole / u.size; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, u.name))
			whole -= n * u.size
		}
	}
	if len(parts) == 0 {
		return "0 s"
	}
	return strings.Join(parts, " ")
}
