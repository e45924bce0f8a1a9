package decay

import (
	"math"
	"slices"

	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// Share is a part of what an instrument may be wrong by that has its own line
// in the budget. Of a hold only the change counts, so what is the same all the
// time is no part of it. Figures are standard uncertainties (k = 1), 0 where
// not stated; the parts of one share are independent of each other.
type Share struct {
	// Source is the line's name, Note where the figures come from.
	Source, Note string
	// Gain is relative (1), of the change of what is measured; of a pressure
	// itself where that is what is asked for.
	Gain float64
	// Shift is by how much the reading may move between the beginning and the
	// end of a hold, however long, though nothing that it measures moves: Pa
	// or K.
	Shift float64
	// Drift is that of a steady drift, Pa/s or K/s.
	Drift float64
	// Beside is what else the reading goes with, over the whole recording: as
	// that changes by 1, in its own unit, the reading may be wrong by
	// BesideGain. Empty: nothing.
	Beside     series.Column
	BesideGain float64
}

// drift is that of a steady drift with which a share is as wrong at the end of
// a hold from start to end.
func (s Share) drift(start, end float64) float64 {
	shift := s.Shift
	if inside := s.Beside.Valid().Window(start, end).Value; len(inside) > 0 {
		shift = math.Hypot(shift, s.BesideGain*(slices.Max(inside)-slices.Min(inside)))
	}
	if !(shift > 0) {
		return s.Drift
	}
	return math.Hypot(s.Drift, shift/(end-start))
}

// shareLines are the lines of shares in something that answers to the change of
// what is measured by moved, to a steady drift by over (s), and counts times
// sensitivity. Shares of one name are wrong together.
func shareLines(shares []Share, start, end, sensitivity, moved, over float64) (lines uncertainty.Budget) {
	for _, s := range shares {
		u := sensitivity * math.Hypot(s.Gain*moved, s.drift(start, end)*over)
		i := slices.IndexFunc(lines, func(l uncertainty.Line) bool { return l.Source == s.Source })
		if i < 0 {
			lines = append(lines, uncertainty.Line{Source: s.Source, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Note: s.Note})
			continue
		}
		lines[i].StdUncertainty += u
	}
	return lines
}

// ShareLines are the lines of shares in a hold of that length, s, of which
// nothing was read yet.
func ShareLines(shares []Share, length, sensitivity, moved, over float64) uncertainty.Budget {
	return shareLines(shares, 0, length, sensitivity, math.Abs(moved), math.Abs(over))
}

// Moves is by how much a share lets the reading move from start to end, s,
// though nothing that is measured moves.
func (s Share) Moves(start, end float64) float64 { return s.drift(start, end) * (end - start) }

// AllGain is the relative standard uncertainty of a temperature difference with
// that of the shares.
func (t Thermometer) AllGain() float64 {
	gain := t.Gain
	for _, s := range t.Shares {
		gain = math.Hypot(gain, s.Gain)
	}
	return gain
}

// scaled are shares times a factor.
func scaled(shares []Share, by float64) []Share {
	out := slices.Clone(shares)
	for i := range out {
		s := &out[i]
		s.Gain, s.Shift, s.Drift, s.BesideGain = by*s.Gain, by*s.Shift, by*s.Drift, by*s.BesideGain
	}
	return out
}
