package report

import (
	"math"
	"strconv"
	"time"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/figure"
	"holdbench/report/result"
)

// Lot is what the pages of a lot show: one row a unit, in the order given.
type Lot struct {
	Title   string
	Rows    []LotRow
	Display si.Display
	// Paper is A4 unless said otherwise.
	Paper Paper
	// Note stands framed at the head of each page, as a result's note does.
	Note string
	// ReportFile is the name under which the pages are kept, for their foot.
	ReportFile string
}

// LotRow is what a lot's pages need of one unit; it holds no recording, so
// that a lot may be large.
type LotRow struct {
	Result *result.Result
	curves []smallCurve
}

// smallCurve is a hold in little: the compensated pressure less the fitted
// pressure at the hold's start, Pa over s since then.
type smallCurve struct {
	circuit       string
	time, change  []float64
	length        float64
	limit         float64 // the change at the hold's end that a limit allows, negative; NaN without one
	limitFromZero bool    // the limit is a rate: its line begins at zero
	raw           bool    // nothing was compensated
}

// smallColumns is how finely a small plot is drawn.
const smallColumns = 150

// LotRowOf takes what a row shows out of a unit's facts.
func LotRowOf(f Facts) LotRow {
	row := LotRow{Result: f.Result}
	for _, circuit := range f.Result.Circuits {
		a, ok := f.assessment(circuit.Name)
		if n := len(a.Curves.Time); !ok || n < 2 || len(a.Curves.Compensated) != n || len(a.Curves.Fitted) != n {
			continue
		}
		start, length := a.Curves.Time[0], a.End-a.Start
		t, change := make([]float64, len(a.Curves.Time)), make([]float64, len(a.Curves.Time))
		for i := range t {
			t[i], change[i] = a.Curves.Time[i]-start, a.Curves.Compensated[i]-a.Curves.Fitted[0]
		}
		small := smallCurve{circuit: circuit.Name, length: length, limit: math.NaN(), raw: uncompensated(a.Curves)}
		t, change = figure.Parted(t, change)
		dt, dc := figure.Decimate(t, change, 0, length, smallColumns)
		small.time, small.change = append([]float64(nil), dt...), append([]float64(nil), dc...)
		small.setLimit(circuit, a.Curves.Fitted[0])
		row.curves = append(row.curves, small)
	}
	return row
}

// setLimit takes the strictest limit that can be drawn.
func (s *smallCurve) setLimit(circuit result.Circuit, start float64) {
	for _, t := range circuit.Tests {
		for _, l := range t.Limits {
			allowed, rate := math.NaN(), false
			switch l.Quantity {
			case "decay_rate", "leak_rate", "leak_rate_at_test_pressure":
				allowed, rate = -l.Value*s.length, true
			case "drop":
				allowed = -l.Value
			case "pressure_end":
				allowed = l.Value - start
			}
			if !math.IsNaN(allowed) && !(allowed < s.limit) {
				s.limit, s.limitFromZero = allowed, rate
			}
		}
	}
}

// lotComposer lays out a lot's pages.
type lotComposer struct {
	setter
	lot    Lot
	y      figure.Axis // the scale of the small plots, in display units
	change si.Unit     // of a pressure change
}

// ComposeLot lays out the summary of a lot: how many passed, and a table with
// a small plot of each unit, on as many pages as it takes. No row's Result may
// be nil. It has no failure.
func ComposeLot(l Lot) []Page {
	c := &lotComposer{setter: newSetter(l.Paper, l.Display), lot: l}
	c.change = c.display.Unit(si.PressureChange)
	c.scale()
	flow := newFlow(c.sheet, c.begin)
	flow.add(single(c.counts(), between))
	flow.add(single(c.caption(), between))
	flow.add(single(c.units(), 2*mm))
	from := joined(" · ", program(c.program()), l.ReportFile)
	return c.number(flow.pages, from)
}

// LotDocument is a lot's pages as a document.
func LotDocument(l Lot) Document {
	m := Meta{Title: "Lot summary: " + l.Title, Subject: l.countsText()}
	for _, r := range l.Rows {
		if at := r.Result.Assessment.At; at.After(m.Created) {
			m.Created = at
		}
	}
	m.Creator = program((&lotComposer{lot: l}).program())
	return Document{Meta: m, Pages: ComposeLot(l)}
}

// program is the one that assessed the units; the last, where there are
// several.
func (c *lotComposer) program() (name string) {
	var last time.Time
	for _, r := range c.lot.Rows {
		if a := r.Result.Assessment; !a.At.Before(last) {
			name, last = a.Program, a.At
		}
	}
	return name
}

// verdicts are the words in the order in which they are counted.
var verdictWords = []string{verdict.Pass.String(), verdict.Fail.String(), verdict.Inconclusive.String()}

// count returns how many units have that verdict; none counts as
// INCONCLUSIVE.
func (l Lot) count(word string) (n int) {
	for _, r := range l.Rows {
		if wordOf(r.Result) == word {
			n++
		}
	}
	return n
}

func (l Lot) countsText() string {
	texts := make([]string, len(verdictWords))
	for i, w := range verdictWords {
		texts[i] = strconv.Itoa(l.count(w)) + " " + w
	}
	return joined(", ", texts...)
}

// wordOf is a result's verdict; none at all is INCONCLUSIVE.
func wordOf(r *result.Result) string {
	if r.Verdict == "" {
		return verdict.Inconclusive.String()
	}
	return r.Verdict
}

// scale chooses one scale for all small plots: half as much again as the
// widest limit allows, and without any limit what the curves need.
func (c *lotComposer) scale() {
	var limits, curves span
	for _, r := range c.lot.Rows {
		for _, s := range r.curves {
			limits.take(s.limit)
			curves.take(s.change...)
		}
	}
	low, high := limits.low, 0.0
	if !limits.any || !(low < 0) {
		low, high = curves.padded(0.05)
		c.y = figure.Axis{Low: low / c.change.Factor, High: high / c.change.Factor}
		return
	}
	c.y = figure.Axis{Low: 1.5 * low / c.change.Factor, High: -0.4 * low / c.change.Factor}
}
