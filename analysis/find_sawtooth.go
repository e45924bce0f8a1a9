package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
)

// The rules of a sawtooth; the house's own (mark P).
const (
	// fewestTeeth is how many stretches it has at the least.
	fewestTeeth = 3
	// toothShare is of the longest stretch what each has at the least.
	toothShare = 0.1
	// toothAlike is of the mean fall what tops and bottoms may differ by.
	toothAlike = 0.3
	// toothRise is of a stretch what pumping after it takes at the most.
	toothRise = 0.2
)

// sawtooth returns the stretches about the chosen one between which a unit was
// pumped up from the same pressure to the same pressure, again and again: one
// hold with re-pumps. None where there are fewer than three.
func (l looked) sawtooth(chosen stretch) []stretch {
	var run []stretch
	for _, s := range l.stretches {
		if len(run) > 0 && !l.pumpedBetween(run[len(run)-1], s) {
			if has(run, chosen) {
				break
			}
			run = nil
		}
		run = append(run, s)
	}
	for len(run) >= fewestTeeth && has(run, chosen) {
		if l.alike(run) {
			return run
		}
		run = run[1:] // it may have been brought up to pressure in steps
	}
	return nil
}

func has(run []stretch, s stretch) bool {
	for _, r := range run {
		if r.first == s.first {
			return true
		}
	}
	return false
}

// pumpedBetween: the one stretch ends where it is pumped up to the other.
func (l looked) pumpedBetween(s, next stretch) bool {
	tr := l.pressure
	return s.end == endPumped && next.pressed && !next.letDown &&
		tr.v[next.first] > tr.v[s.last] && tr.t[next.first]-tr.t[s.last] <= toothRise*max(l.length(s), l.length(next))
}

// alike: tops are alike, and bottoms, and no stretch is far shorter than the
// longest; the last may have been cut short.
func (l looked) alike(run []stretch) bool {
	tr := l.pressure
	longest, fall := 0.0, 0.0
	top, bottom := span{math.Inf(1), math.Inf(-1)}, span{math.Inf(1), math.Inf(-1)}
	for i, s := range run {
		high := tr.v[s.first]
		longest = max(longest, l.length(s))
		top = span{min(top.from, high), max(top.to, high)}
		if i == len(run)-1 {
			break
		}
		low := tr.v[s.last]
		fall += (high - low) / float64(len(run)-1)
		bottom = span{min(bottom.from, low), max(bottom.to, low)}
	}
	for _, s := range run[:len(run)-1] {
		if l.length(s) < toothShare*longest {
			return false
		}
	}
	return fall > noiseClear*tr.noise && top.to-top.from <= toothAlike*fall && bottom.to-bottom.from <= toothAlike*fall
}

// overSawtooth makes the hold reach over all stretches of a sawtooth.
func (l looked) overSawtooth(f *Found, run []stretch) {
	tr := l.pressure
	for i, s := range run {
		if tr.t[s.last]-tr.t[s.first] > 0 {
			segment := decay.Segment{Start: tr.from[s.first], End: tr.to[s.last], From: tr.from[s.first]}
			if i == 0 {
				first := l.window(s)
				segment.Start, segment.From = first.start, first.start
				f.Start, f.Locked = first.start, math.NaN()
				if s.pressed && !s.letDown {
					f.Locked = min(first.locked, first.start)
				}
			} else {
				segment.From = segment.Start + decay.CoolingTime(segment.End-segment.Start, nil)
			}
			f.Segments = append(f.Segments, segment)
			f.End = segment.End
		}
	}
	f.How = fmt.Sprintf("hold found in the pressure: from %s to %s, re-pumped %d times; its %d segments have one slope, each its own level",
		seconds(f.Start), seconds(f.End), len(f.Segments)-1, len(f.Segments))
	f.Method = HoldFound
	f.Notes = l.droppedOut()
}
