package analysis

import (
	"fmt"
	"math"
	"strings"

	"holdbench/analysis/si"
)

// mostMentioned is how many other holds are told one by one.
const mostMentioned = 3

// how says in plain words how the window came about.
func (l looked) how(w window, d si.Display) string {
	var b strings.Builder
	if !w.of.pressed {
		b.WriteString("whole record taken, for no press-up is in it: ")
	} else {
		b.WriteString("hold found from the pressure: ")
		if w.of.letDown {
			fmt.Fprintf(&b, "let down to %s at %s, ", pressure(w.peak, d), seconds(w.locked))
		} else {
			fmt.Fprintf(&b, "pressed up to %s at %s, ", pressure(w.peak, d), seconds(w.locked))
		}
	}
	if finite(w.letDown) {
		fmt.Fprintf(&b, "feed let down at %s, ", seconds(w.letDown))
	}
	kind := "steady"
	switch {
	case !w.of.pressed:
		kind = "taken"
	case w.steady != settledDied:
		kind = "held"
	}
	fmt.Fprintf(&b, "%s from %s to %s", kind, seconds(w.start), seconds(w.end))
	if w.of.end == endOfRecord {
		b.WriteString(", the end of the record")
	} else {
		fmt.Fprintf(&b, ", then %s", w.of.end)
	}
	return b.String()
}

// notes says what a reader should know besides.
func (l looked) notes(w window, d si.Display) (notes []string) {
	add := func(format string, a ...any) { notes = append(notes, fmt.Sprintf(format, a...)) }
	lost := w.peak - w.startPressure
	switch {
	case w.of.pressed && w.steady == settledLoss:
		add("the pressure lost too much after its peak to be told from a leak: the window begins before 5 %% are lost")
	case w.of.pressed && w.steady == settledNot:
		add("not yet steady at a third of the hold, where its window begins")
	}
	if w.of.pressed && lost > 0.02*w.peak && w.steady != settledLoss {
		add("%s lost between the peak and the start of the window was taken for settling", pressure(lost, d))
	}
	if w.feedUnderPressure {
		add("the feed side was under pressure during the hold")
	}
	if w.of.end == endGone {
		add("what could be lost was lost at %s: what follows was left out", seconds(w.end))
	}
	if w.releaseIsAmbiguous {
		add("the pressure was gone soon after the press-up: if it was not released, the unit lost it; state the hold to judge that")
	}
	notes = append(notes, l.droppedOut()...)
	return append(notes, l.otherHolds(w.of, d)...)
}

// droppedOut tells where the signal was away.
func (l looked) droppedOut() (notes []string) {
	for _, s := range l.dropouts {
		notes = append(notes, fmt.Sprintf("the pressure signal dropped out from %s to %s: set aside", seconds(s.from), seconds(s.to)))
	}
	return notes
}

// otherHolds tells of the holds that were not taken.
func (l looked) otherHolds(chosen stretch, d si.Display) (notes []string) {
	others := l.others(chosen)
	for i, s := range others {
		if i == mostMentioned {
			return append(notes, fmt.Sprintf("%d further holds not taken", len(others)-i))
		}
		notes = append(notes, fmt.Sprintf("another hold not taken: at %s from %s to %s",
			pressure(l.level(s), d), seconds(l.pressure.t[s.first]), seconds(l.pressure.t[s.last])))
	}
	return notes
}

// whyNone says why no hold was found.
func (l looked) whyNone(d si.Display) string {
	tr := l.pressure
	if !(tr.top > noiseClear*tr.noise) || !(tr.top > 0) {
		return fmt.Sprintf("no pressure in the record that stands clear of its noise: %s at most", pressure(tr.top, d))
	}
	return fmt.Sprintf("the pressure, %s at most, never stays up for %d readings after it was pumped", pressure(tr.top, d), fewestReadings)
}

// fourDigits brings what four digits round up to a power of ten up to it.
const fourDigits = 1 + 5e-5

// pressure writes a pressure with four digits, in the display unit.
func pressure(p float64, d si.Display) string {
	if d.Pressure.Factor == 0 {
		d = si.DefaultDisplay
	}
	x := d.Pressure.FromSI(p)
	decimals := 1
	if size := math.Abs(x); size > 0 {
		decimals = min(max(3-int(math.Floor(math.Log10(size*fourDigits))), 0), 4)
	}
	return si.Format(x, decimals) + " " + d.Pressure.Symbol
}

// seconds writes a time, in hours where it is long.
func seconds(t float64) string {
	decimals, unit := 1, " s"
	switch size := math.Abs(t); {
	case size >= 7200:
		t, decimals, unit = t/3600, 2, " h"
	case size >= 1000:
		decimals = 0
	}
	return strings.TrimSuffix(si.Format(t, decimals), ".0") + unit
}

// openEnd writes the end of a stated window.
func openEnd(t float64, open string) string {
	if !finite(t) {
		return open
	}
	return seconds(t)
}
