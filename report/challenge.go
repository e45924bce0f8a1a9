package report

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"holdbench/analysis/challenge"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/figure"
)

// Challenges is what a page on a bench's known-leak challenges shows.
type Challenges struct {
	Benches []ChallengedBench
	Display si.Display
	Paper   Paper
	Program string
	At      time.Time
	Note    string
}

// ChallengedBench is one bench, quantity and limit.
type ChallengedBench struct {
	Bench, Quantity string
	Kind            si.Quantity
	Report          challenge.Report
	Runs            []ChallengedRun
}

// ChallengedRun is one challenge, SI of the quantity.
type ChallengedRun struct {
	Code, Serial                            string
	At                                      time.Time
	Expected, Measured, Difference, Allowed float64
	// U is the difference's standard uncertainty.
	U                 float64
	Outcome, Readings string
}

// ChallengesDocument lays out a page for each bench. It has no failure.
func ChallengesDocument(c Challenges) Document {
	s := newSetter(c.Paper, c.Display)
	var pages []*Page
	for _, b := range c.Benches {
		pages = append(pages, s.challengedBench(b, c.Note)...)
	}
	return Document{
		Meta:  Meta{Title: "Known-leak challenges", Creator: program(c.Program), Created: c.At},
		Pages: s.number(pages, program(c.Program)),
	}
}

func (c *setter) challengedBench(b ChallengedBench, note string) []*Page {
	flow := newFlow(c.sheet, c.plainHead("Known-leak challenges", joined(": ", b.Bench, quantityTitle(b.Quantity)), note))
	flow.add(single(c.aside("Each run imposes a known leak on a unit whose own leak is known; the bench passes where what it measures is within a quarter of the limit. "+
		"Bias, scatter and chances are "+challenge.Form+"; no authority has approved this bench or program."), 0))
	if f, ok := c.challengeFigure(b); ok {
		flow.add(single(block{body: []piece{c.figurePiece("Measured less expected, in the order of the runs", f, 62*mm)}}, between))
	}
	flow.add(single(c.keyTable("All runs", ChallengeRows(b, c.display)), between))
	flow.add(single(c.challengeRuns(b), between))
	return flow.pages
}

// ChallengeRows is what a bench's challenges say together: a figure and what
// it is, in display units.
func ChallengeRows(b ChallengedBench, d si.Display) [][2]string {
	unit := d.Unit(b.Kind)
	r := b.Report
	show := func(x float64) string { return number(x/unit.Factor, 4) + " " + unit.Symbol }
	share := func(p challenge.Proportion) string {
		if p.Trials == 0 {
			return "none tried"
		}
		return fmt.Sprintf("%d of %d, one-sided 95 %% bounds %s %% and %s %%", p.Events, p.Trials, si.Format(100*p.Low, 2), si.Format(100*p.High, 2))
	}
	rows := [][2]string{
		{"runs", fmt.Sprintf("%d, of which %d could not be told", r.Trials, r.Unknown)},
		{"passed", share(r.Passed)},
		{"limit R", show(r.Limit)},
		{"threshold C", show(r.Threshold)},
	}
	if e := r.Evaluation; e != nil {
		significant := "not significant"
		if e.Significant {
			significant = "significant"
		}
		rows = append(rows, [][2]string{
			{"differences n", fmt.Sprint(e.N)},
			{"bias B", show(e.Bias) + ", left in"},
			{"standard deviation SD", show(e.SD) + ", at most " + show(e.SDUpper) + " (95 %)"},
			{"t of the bias", fmt.Sprintf("%s against %s: %s", number(e.TBias, 3), number(e.TCritical, 3), significant)},
			{"chance of false alarm P_FA", si.Format(100*e.PFalseAlarm, 2) + " %"},
			{"chance of detection P_D at the limit", si.Format(100*e.PDetection, 2) + " %"},
			{"threshold for 5 % false alarms", show(e.Threshold5)},
			{"smallest leak detected in 95 %", show(e.Detectable95)},
		}...)
	} else {
		rows = append(rows, [2]string{"bias and scatter", r.EvaluationNo})
	}
	return append(rows, [][2]string{
		{"false alarms (FAIL below the limit)", share(r.FalseAlarms)},
		{"detections (FAIL above the limit)", share(r.Detections)},
		{"missed (PASS above the limit)", share(r.Missed)},
		{"undecided", share(r.Undecided)},
	}...)
}

// quantityTitle is a quantity's name as other pages have it.
func quantityTitle(name string) string {
	if row, ok := verdict.Lookup(name); ok {
		return sentence(row.Title)
	}
	return name
}

func (c *setter) challengeRuns(b ChallengedBench) block {
	unit := c.display.Unit(b.Kind)
	show := func(x float64) string {
		if math.IsNaN(x) {
			return none
		}
		return number(x/unit.Factor, 4)
	}
	var rows []row
	for i, r := range b.Runs {
		rows = append(rows, row{cells: []string{
			strconv.Itoa(i + 1), r.At.Format("2006-01-02 15:04"), r.Code, r.Serial, show(r.Expected), show(r.Measured), show(r.Difference), show(r.U), r.Outcome, r.Readings,
		}})
	}
	return c.table("Runs, in "+unit.Symbol, []column{
		{title: "run", kind: numbers}, {title: "date", kind: tight}, {title: "code", weight: 1}, {title: "unit", weight: 1.2},
		{title: "expected", kind: numbers}, {title: "measured", kind: numbers}, {title: "difference", kind: numbers}, {title: "u", kind: numbers},
		{title: "bench", kind: tight}, {title: "by the limit alone", kind: tight},
	}, rows, c.textWidth)
}

// challengeFigure is the differences run by run, each a point with the bar of
// its expanded uncertainty, within what is allowed.
func (c *setter) challengeFigure(b ChallengedBench) (figure.Figure, bool) {
	unit := c.display.Unit(b.Kind)
	var lines []figure.Line
	var x, above, below, zero []float64
	var s span
	name := "difference ± expanded uncertainty (95 %)"
	for i, r := range b.Runs {
		if math.IsNaN(r.Difference) || math.IsNaN(r.U) {
			continue
		}
		at, allowed := float64(i+1), r.Allowed/unit.Factor
		bars := pointWithBar(name, at, r.Difference/unit.Factor, 1.96*r.U/unit.Factor, 0.02*float64(len(b.Runs)))
		lines, name = append(lines, bars...), ""
		// What is allowed is drawn over the run's own place.
		x = append(x, at-0.5, at+0.5)
		above, below, zero = append(above, allowed, allowed), append(below, -allowed, -allowed), append(zero, 0, 0)
		s.take((r.Difference-1.96*r.U)/unit.Factor, (r.Difference+1.96*r.U)/unit.Factor, allowed, -allowed)
	}
	if len(x) == 0 {
		return figure.Figure{}, false
	}
	low, high := s.padded(0.15)
	return figure.Figure{
		Time: figure.Axis{Quantity: "run number", Low: 0.5, High: float64(len(b.Runs)) + 0.5},
		Panels: []figure.Panel{{
			Y: figure.Axis{Quantity: "measured less expected", Unit: unit.Symbol, Low: low, High: high}, Share: 1,
			Lines: append([]figure.Line{
				{X: x, Y: zero, Style: figure.Zero},
				{Name: "allowed", X: x, Y: above, Style: figure.LimitLine},
				{X: x, Y: below, Style: figure.LimitLine},
			}, lines...),
		}},
	}, true
}

// pointWithBar is a value at x with what it is known to: a bar with ends, and a
// thick stroke for the value.
func pointWithBar(name string, x, y, half, width float64) []figure.Line {
	point := figure.Style{Color: figure.Ink, Width: 4}
	across := []float64{x - width/2, x + width/2}
	return []figure.Line{
		{Name: name, X: []float64{x, x}, Y: []float64{y - half, y + half}, Style: figure.Fitted},
		{X: across, Y: []float64{y - half, y - half}, Style: figure.Fitted},
		{X: across, Y: []float64{y + half, y + half}, Style: figure.Fitted},
		{X: []float64{x - width/4, x + width/4}, Y: []float64{y, y}, Style: point},
	}
}
