package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/series"
)

// CircuitPressure is one circuit's part of a record: Trapped and Feed as for
// FindHold.
type CircuitPressure struct {
	Name          string
	Trapped, Feed series.Column
}

const (
	commonShare = 2.0 / 3 // of each window: held at once
	neverUp     = 0.05    // of another circuit's highest: never under pressure
)

// FindHolds finds the holds of circuits that were recorded together, in the
// order of circuits; reasons[i] is empty, or why circuit i has none. Circuits
// that were held at once get one common window: it has to be at least two
// thirds of each one's own, and no circuit may have lost more than 5 % between
// its own start and the common one (a leak would hide there). Otherwise each
// keeps its own. A circuit whose pressure never came above 5 % of another's
// was not tested, and has no hold.
func FindHolds(circuits []CircuitPressure, o FindOptions) (found []Found, reasons []string) {
	looks := make([]looked, len(circuits))
	highest := 0.0
	for i, c := range circuits {
		looks[i] = look(c.Trapped, c.Feed)
		highest = max(highest, looks[i].pressure.top)
	}
	for _, l := range looks {
		f, reason := l.holdFor(o)
		if reason == "" && !o.Given && l.pressure.top < neverUp*highest {
			f, reason = Found{}, fmt.Sprintf("no hold found: %s at most, while another circuit had %s: never under pressure",
				pressure(l.pressure.top, o.Display), pressure(highest, o.Display))
		}
		found, reasons = append(found, f), append(reasons, reason)
	}
	if !o.Given {
		makeCommon(looks, found, reasons)
	}
	return found, reasons
}

// makeCommon gives the circuits that have a hold one window, if they may.
func makeCommon(looks []looked, found []Found, reasons []string) {
	start, end, count := math.Inf(-1), math.Inf(1), 0
	for i, f := range found {
		if reasons[i] == "" {
			start, end, count = max(start, f.Start), min(end, f.End), count+1
		}
	}
	if count < 2 {
		return
	}
	for i, f := range found {
		atOnce := end-start >= commonShare*(f.End-f.Start) && looks[i].isEnough(start, end)
		if reasons[i] == "" && !(atOnce && looks[i].mayStartAt(f.Start, start)) {
			for j := range found {
				if reasons[j] == "" {
					found[j].Notes = append(found[j].Notes, "the circuits were not held at once: each has its own window")
				}
			}
			return
		}
	}
	for i, f := range found {
		if reasons[i] != "" || (f.Start == start && f.End == end) {
			continue
		}
		found[i].Start, found[i].End = start, end
		found[i].How += fmt.Sprintf("; window common to the circuits from %s to %s", seconds(start), seconds(end))
	}
}

// mayStartAt reports whether little was lost between two instants.
func (l looked) mayStartAt(own, common float64) bool {
	tr := l.pressure
	a, b := max(0, tr.at(own)), max(0, tr.at(common))
	return tr.v[a]-tr.v[b] <= freeLoss*tr.v[a]
}
