package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// How a hold's window came about: the values of Found.Method.
const (
	// HoldFound: from the pressure itself.
	HoldFound = "found"
	// HoldWhole: no press-up in the record, which is taken whole.
	HoldWhole = "whole"
	// HoldGiven: stated by a person.
	HoldGiven = "given"
)

// fewestReadings is how many valid readings a hold has at the least.
const fewestReadings = 5

// Found is where the hold is in a record that has no events. Times in s, as
// in the column.
type Found struct {
	// Start and End of the window to be judged; Start < End, both inside the
	// record.
	Start, End float64
	// Locked is the instant of the peak after which nothing was pumped any
	// more, the best that a pressure can say of the instant of locking; NaN
	// where no press-up precedes the hold.
	Locked float64
	// How says in plain words, for pages, how the window came about.
	How string
	// Method is HoldFound, HoldWhole or HoldGiven.
	Method string
	// Segments are the parts of a hold in which the unit was pumped up again
	// and again; none where it was not.
	Segments []decay.Segment
	// Stepped is the step up with which the hold begins where the unit had been
	// held at the same level just before; else nil.
	Stepped *decay.Jump
	// Notes say what a reader should know besides: other holds in the record,
	// what was set aside, what is doubtful.
	Notes []string
}

// FindOptions steer FindHold; the zero value is fit for use.
type FindOptions struct {
	// Given states the window from From to To, s, instead of finding it. A
	// NaN or infinite end is the record's own.
	Given    bool
	From, To float64
	// Display are the units of How and Notes; the zero value means
	// si.DefaultDisplay.
	Display si.Display
}

// FindHold finds the hold in a bare pressure record, with hindsight. trapped
// is gauge pressure in Pa over the whole record; feed is the feed side's and
// may be empty. The second result is empty, or the reason why there is no
// hold; then the first is nothing.
//
// The record is cut into stretches without pumping:
//
//   - Press-up: the pressure gains a fifth of the record's highest within a
//     twentieth of the record's length, or it comes up from below 35 % of the
//     highest. While it then rises at a fifth of the rate of the quickest such
//     gain, or by half of the highest in a minute, it is being pumped: what a
//     warming unit does is far slower.
//   - Top-up: a step of 0.3 % or more of the highest pressure within 3 s or
//     20 s (two readings, where those are rarer) that lasts, and before and
//     after which the pressure rises at less than a quarter of its rate. Both
//     have to stand clear of the noise.
//   - Release: a fifth or more is lost within a quarter of the time since the
//     stretch began, three times as fast as on the average of that time, and
//     the fall is over within half of that time. A leak slows down as the
//     pressure falls and is no release, however gross. After a release in part
//     another stretch begins.
//   - A stretch ends where 95 % of its pressure is gone, or where 95 % of a
//     loss of more than 15 % came in its first third: what lies behind would
//     water the loss down.
//
// Of the stretches with at least half of the highest starting pressure, those
// of at least 0.4 of the longest count as long, and the last long one is the
// hold. A stretch that no press-up precedes is taken whole.
//
// A unit that was pumped up again and again, from the same pressure to the same
// pressure, is held all the time: three and more such stretches that follow each
// other are the segments of one hold.
//
// The feed, where it is measured, moves the start to where it was let down
// below a fifth of the trapped pressure, and the end to where it came up
// again.
//
// The start of the steady part: a straight line is laid through the middle
// third of the stretch; Start is where the pressure has come to that line, and
// stays there, within 5 % of the line's change over the stretch, 0.02 % of the
// pressure, or the noise, whichever is largest; at least a fiftieth of the
// stretch and at most its first third is cut away. What may be a leak is not
// taken for settling: where more than 5 % of the pressure would be cut off,
// Start is no later than the instant at which 5 % were lost. Up to 15 % may be
// cut off where the pressure came to rest at once, as after an overshoot: all
// but 1 % was lost within a tenth of the stretch, and at three times the line's
// rate or more.
//
// All lengths and rates are shares of the record's own, so that neither the
// unit of pressure nor the origin of time matters; only the minute, the 3 s
// and the 20 s, which say how quick a pump is, are not, and the 10 s that a
// signal may be away (a loose plug) before it counts as a release and a
// press-up. The shares are the house's own (mark P).
//
// It takes one pass over the readings, and no more than 40,000 blocks of them
// after that.
func FindHold(trapped, feed series.Column, o FindOptions) (Found, string) {
	return look(trapped, feed).holdFor(o)
}

func (l looked) holdFor(o FindOptions) (Found, string) {
	if o.Given {
		return l.given(o)
	}
	return l.find(o)
}

// looked is a record with what was seen in it.
type looked struct {
	trapped   series.Column
	pressure  track
	feed      track
	dropouts  []span
	stretches []stretch
}

// span is a part of the time, s.
type span struct{ from, to float64 }

func look(trapped, feed series.Column) looked {
	l := looked{trapped: trapped, pressure: reduce(trapped), feed: reduce(feed)}
	l.dropouts = l.pressure.bridgeDropouts()
	l.stretches = l.split(l.pressure.climbs(true))
	if len(l.candidates()) == 0 {
		// What rises from beginning to end is no press-up with a hold behind.
		l.stretches = l.split(l.pressure.climbs(false))
	}
	return l
}

// find takes the hold from the stretches.
func (l looked) find(o FindOptions) (Found, string) {
	if l.pressure.len() < fewestReadings {
		return Found{}, fmt.Sprintf("no hold found: %d valid pressure readings, %d are needed", l.pressure.len(), fewestReadings)
	}
	candidates := l.candidates()
	if len(candidates) == 0 {
		return Found{}, "no hold found: " + l.whyNone(o.Display)
	}
	chosen := l.lastLong(candidates)
	w := l.window(chosen)
	if !l.isEnough(w.start, w.end) {
		return Found{}, "no hold found: " + l.whyNone(o.Display)
	}
	f := Found{Start: w.start, End: w.end, Locked: math.NaN(), Method: HoldWhole}
	if chosen.pressed {
		f.Method = HoldFound
	}
	if chosen.pressed && !chosen.letDown {
		f.Locked = min(w.locked, w.start)
	}
	f.How = l.how(w, o.Display)
	f.Notes = l.notes(w, o.Display)
	if teeth := l.sawtooth(chosen); teeth != nil {
		l.overSawtooth(&f, teeth)
	} else {
		f.Stepped = l.steppedUp(chosen)
	}
	return f, ""
}

// given takes the window that a person stated, as far as the record reaches.
func (l looked) given(o FindOptions) (Found, string) {
	t := l.pressure
	if t.len() == 0 {
		return Found{}, "the stated hold cannot be taken: the record has no valid pressure reading"
	}
	first, last := t.from[0], t.to[t.len()-1]
	stated := fmt.Sprintf("the stated hold from %s to %s", openEnd(o.From, "the start"), openEnd(o.To, "the end"))
	f := Found{Start: first, End: last, Locked: math.NaN(), Method: HoldGiven, How: "hold as stated"}
	if finite(o.From) {
		f.Start = max(first, o.From)
	}
	if finite(o.To) {
		f.End = min(last, o.To)
	}
	if finite(o.From) && finite(o.To) && !(o.From < o.To) {
		return Found{}, stated + " does not end after it begins"
	}
	if !l.isEnough(f.Start, f.End) {
		return Found{}, fmt.Sprintf("%s has fewer than %d valid pressure readings: the record reaches from %s to %s",
			stated, fewestReadings, seconds(first), seconds(last))
	}
	if finite(o.From) && o.From < f.Start || finite(o.To) && o.To > f.End {
		f.Notes = append(f.Notes, stated+" reaches beyond the record and was cut to it")
	}
	f.How += fmt.Sprintf(": from %s to %s", seconds(f.Start), seconds(f.End))
	f.Locked = l.lockedBefore(f.Start)
	return f, ""
}

// isEnough reports whether from…to has the readings that a hold has to have.
func (l looked) isEnough(from, to float64) bool {
	if !(from < to) {
		return false
	}
	valid := 0
	for _, v := range l.trapped.Window(from, to).Value {
		if finite(v) {
			valid++
		}
		if valid == fewestReadings {
			return true
		}
	}
	return false
}

// lockedBefore returns the peak that a stretch with the instant t began with,
// NaN where there is none.
func (l looked) lockedBefore(t float64) float64 {
	for _, s := range l.stretches {
		if s.pressed && !s.letDown && l.pressure.t[s.first] <= t && t <= l.pressure.to[s.last] {
			at, _ := l.peak(s.first)
			return min(at, t)
		}
	}
	return math.NaN()
}

func finite(x float64) bool { return x-x == 0 }
