package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// Plan is what is said of a test before it is made.
type Plan struct {
	// Procedure, Bench, Model and Position as their files name them.
	Procedure, Bench, Model, Position string
	// Revision of the procedure, and the "sha256:…" of both files' text.
	Revision, ProcedureHash, BenchHash string
	Circuits                           []PlannedCircuit
	// Program and Made stand in the foot.
	Program string
	Made    time.Time
	Note    string
	Display si.Display
	Paper   Paper
}

// PlannedCircuit is one circuit's part of a plan.
type PlannedCircuit struct {
	Name string
	// Expected says in sentences what was reckoned with.
	Expected []string
	Prospect analysis.Prospect
	Limits   []analysis.Planned
	// Prior says for each limit in a sentence what becomes of the units that
	// come; empty, or shorter, where nothing is stated of them.
	Prior []string
}

func (c PlannedCircuit) priorOf(i int) []string {
	if i < len(c.Prior) && c.Prior[i] != "" {
		return c.Prior[i : i+1]
	}
	return nil
}

type planComposer struct {
	setter
	plan Plan
}

// ComposePlan lays out a page for each limit of each circuit: its operating
// characteristic, what becomes of units, and the budget. It has no failure.
func ComposePlan(p Plan) []Page {
	c := &planComposer{setter: newSetter(p.Paper, p.Display), plan: p}
	var all []*Page
	for _, circuit := range p.Circuits {
		for i, l := range circuit.Limits {
			flow := newFlow(c.sheet, c.begin(circuit, l))
			flow.add(single(c.characteristic(l), between))
			flow.add(c.pair(c.unitsTable(l), c.planBudget(l), between))
			words := slices.Concat(HoldTimesInWords(l), LooksInWords(l), circuit.priorOf(i))
			flow.add(single(c.list("Hold time", words, c.textWidth), between))
			flow.add(single(c.list("Reckoned with", circuit.Expected, c.textWidth), between))
			all = append(all, flow.pages...)
		}
	}
	return c.number(all, program(p.Program))
}

// PlanDocument is a plan's pages as a document.
func PlanDocument(p Plan) Document {
	return Document{
		Meta:  Meta{Title: "Plan of a hold test: " + p.Procedure, Subject: p.Model, Creator: program(p.Program), Created: p.Made},
		Pages: ComposePlan(p),
	}
}

func (c *planComposer) begin(circuit PlannedCircuit, l analysis.Planned) func(*Page, int) vg.Length {
	title := "Circuit " + circuit.Name + ": " + c.limitTitle(l.Limit)
	return func(p *Page, number int) vg.Length {
		title := title
		y := c.top(p, "Plan of a hold test", c.plan.Note) - 5*mm
		large := lettering.Bold(sizePage)
		if number > 1 {
			title += ", continued"
		} else {
			p.bookmark(title, 0)
		}
		p.text(large, figure.Ink, marginSide, y-sizePage*lettering.CapHeight, c.short(large, title, c.textWidth))
		y -= sizePage + 3*mm
		return c.factRows(p, known([]fact{
			{"procedure", withRevision(c.plan.Procedure, c.plan.Revision), shortHash(c.plan.ProcedureHash)}, {"model", c.plan.Model, ""},
			{"bench", c.plan.Bench, shortHash(c.plan.BenchHash)}, {"position", c.plan.Position, ""},
			{"hold", holdInWords(circuit.Prospect.Duration, l.Looks), ""}, {"decides reliably", c.smallest(l), ""}, {"this limit", resolvesInWords(l), ""},
			{"planned", planDay(c.plan.Made), ""},
		}), y, c.textWidth)
	}
}

func (c *planComposer) limitTitle(l verdict.Limit) string {
	bound := "at most"
	if l.Bound == verdict.Min {
		bound = "at least"
	}
	after := &l.After
	if l.After == 0 {
		after = nil
	}
	return strings.ToLower(c.titleOf(l.Quantity, after)) + " " + bound + " " + LimitText(l, c.display)
}

// LimitText is a limit in display units: as its author wrote it where that is
// in them, or its quantity has one unit for all displays.
func LimitText(l verdict.Limit, d si.Display) string {
	q := l.Row().Quantity
	unit := d.Unit(q)
	if strings.HasSuffix(l.Text(), " "+unit.Symbol) || q == si.Time || q == si.VolumeFlow {
		return l.Text()
	}
	return Figures(unit.FromSI(l.Value), 3) + " " + unit.Symbol
}

func withRevision(name, revision string) string {
	if revision == "" {
		return name
	}
	return name + ", rev. " + revision
}

func planDay(made time.Time) string {
	if made.IsZero() {
		return ""
	}
	return made.Format("2006-01-02")
}

// holdInWords is the hold's length, and the longest that it may become.
func holdInWords(duration float64, looks *analysis.Looks) string {
	if looks != nil && looks.Longest() > looks.Hold {
		return seconds(duration) + ", at most " + seconds(looks.Longest())
	}
	return seconds(duration)
}

func resolvesInWords(l analysis.Planned) string {
	switch {
	case l.Absent != "":
		return "INCONCLUSIVE to be expected"
	case l.Resolves:
		return "decided reliably"
	}
	return "not decided reliably"
}

func (c *planComposer) smallest(l analysis.Planned) string {
	if l.Absent != "" || math.IsInf(l.Smallest, 1) {
		return "none"
	}
	_, unit := c.loss(l.Outlook, 1)
	return "from " + Figures(l.Smallest/unit.Factor, 2) + " " + unit.Symbol
}

// loss is a true loss and the unit in which it is shown.
func (c *planComposer) loss(o analysis.Outlook, multiple float64) (float64, si.Unit) {
	x, q := o.Loss(multiple)
	unit := c.display.Unit(q)
	if q == si.Dimensionless {
		unit = si.Unit{Symbol: "1/h", Factor: 1.0 / 3600}
	}
	return x / unit.Factor, unit
}

// Figures writes a number with so many significant digits (two or more), 0 as
// such.
func Figures(x float64, digits int) string {
	if x == 0 {
		return "0"
	}
	return si.Format(x, si.Decimals(math.Abs(x))+digits-2)
}

// Beside writes a part of an uncertainty (SI) with two significant digits, but
// with at most two decimals more than the whole.
func Beside(part, whole float64, unit si.Unit) string {
	decimals := si.Decimals(part / unit.Factor)
	return si.Format(part/unit.Factor, min(decimals, si.Decimals(whole/unit.Factor)+2))
}

// Seconds writes a time, s, rounded up to whole seconds, e.g. "1 min 17 s".
func Seconds(s float64) string { return seconds(s) }

func seconds(s float64) string {
	d := time.Duration(math.Ceil(s)) * time.Second
	var text string
	for _, u := range []struct {
		size time.Duration
		name string
	}{{24 * time.Hour, "d"}, {time.Hour, "h"}, {time.Minute, "min"}, {time.Second, "s"}} {
		if n := d / u.size; n > 0 {
			text += fmt.Sprintf(" %d %s", n, u.name)
			d -= n * u.size
		}
	}
	return strings.TrimSpace(text)
}

const characteristicHeight = 78 * mm

// characteristic draws the shares of the verdicts over the true loss.
func (c *planComposer) characteristic(l analysis.Planned) block {
	limit, unit := c.loss(l.Outlook, 1)
	far, _ := c.loss(l.Outlook, l.Curve[len(l.Curve)-1].Multiple)
	f := figure.Figure{
		Time:   figure.Axis{Quantity: "true " + lossTitle(c.titleOf(l.Limit.Quantity, nil), l.Limit.Quantity), Unit: unit.Symbol, High: far},
		Bands:  []figure.Band{{Name: "within the limit", To: limit, Fill: figure.HoldTint}, {Name: "beyond the limit", From: limit, To: far, Fill: figure.PhaseTint}},
		Panels: []figure.Panel{{Y: figure.Axis{Quantity: "share of units", Unit: "%", Low: -3, High: 103}, Share: 1}},
	}
	lines := []figure.Line{
		{Name: "PASS", Style: figure.PassShare}, {Name: "INCONCLUSIVE", Style: figure.InconclusiveShare}, {Name: "FAIL", Style: figure.FailShare},
		{Name: "limit", Style: figure.LimitLine, X: []float64{limit, limit}, Y: []float64{0, 100}},
	}
	for _, s := range l.Curve {
		x, _ := c.loss(l.Outlook, s.Multiple)
		for i, y := range []float64{s.Pass, s.Inconclusive, s.Fail} {
			lines[i].X, lines[i].Y = append(lines[i].X, x), append(lines[i].Y, 100*y)
		}
	}
	f.Panels[0].Lines = lines
	legend := c.legend(lines)
	return block{
		head: []piece{c.title("Operating characteristic, "+when(l), c.textWidth)},
		body: []piece{{height: legend.height + characteristicHeight, draw: func(p *Page, at vg.Point) {
			legend.draw(p, at)
			r := vg.Rectangle{
				Min: vg.Point{X: at.X, Y: at.Y - legend.height - characteristicHeight},
				Max: vg.Point{X: at.X + c.textWidth, Y: at.Y - legend.height},
			}
			p.mark(func(canvas vg.Canvas) { figure.Draw(canvas, r, f) })
		}}},
	}
}

// when says when the verdicts fall.
func when(l analysis.Planned) string {
	if l.Looks != nil {
		return fmt.Sprintf("with %d looks", len(l.Looks.Plan))
	}
	return "at the end of the hold"
}

func lossTitle(title, quantity string) string {
	row, _ := verdict.Lookup(quantity)
	switch row.Quantity {
	case si.Pressure:
		return "fall from the test pressure"
	case si.Time:
		return "1/" + strings.ToLower(title)
	}
	return strings.ToLower(title)
}

// unitsTable is what becomes of units, with the looks where there are any.
func (c *planComposer) unitsTable(l analysis.Planned) block {
	_, unit := c.loss(l.Outlook, 1)
	columns := []column{
		{title: "true loss [" + unit.Symbol + "]", kind: numbers}, {title: "of limit", kind: numbers},
		{title: "PASS", kind: rights}, {title: "INCONCL.", kind: rights}, {title: "FAIL", kind: rights},
	}
	if l.Looks != nil {
		columns = append(columns, column{title: "mean hold", kind: rights})
	}
	var rows []row
	for _, s := range l.Units {
		x, _ := c.loss(l.Outlook, s.Multiple)
		cells := []string{Figures(x, 3), si.Format(s.Multiple, 2), PerCent(s.Pass), PerCent(s.Inconclusive), PerCent(s.Fail)}
		if l.Looks != nil {
			cells = append(cells, si.Format(s.Mean, 0)+" s")
		}
		rows = append(rows, row{cells: cells})
	}
	return c.table("Units, "+when(l), columns, rows, c.halfWidth)
}

// PerCent writes a share as per cent with one decimal.
func PerCent(share float64) string { return si.Format(100*share, 1) + " %" }

// planBudget lists the lines of the budget for a unit at the limit.
func (c *planComposer) planBudget(l analysis.Planned) block {
	_, unit := c.loss(l.Outlook, 1)
	columns := []column{{title: "source", weight: 1}, {title: "u (k\u00a0=\u00a01)", kind: numbers}, {title: "share of\u00a0u²", kind: rights}}
	var rows []row
	for _, line := range l.Budget {
		share := line.StdUncertainty / l.StdUncertainty
		rows = append(rows, row{cells: []string{line.Source, Beside(line.StdUncertainty, l.StdUncertainty, unit), PerCent(share * share)}})
	}
	rows = append(rows,
		row{bold: true, ruled: true, cells: []string{"combined", Figures(l.StdUncertainty/unit.Factor, 2), ""}},
		row{cells: []string{SmallestLimit(l), figuresOrNone(l.Smallest / unit.Factor), ""}})
	if l.Absent != "" {
		rows = []row{{cells: []string{l.Absent, none, none}}}
	}
	return c.table("Expected budget at the limit ["+unit.Symbol+"]", columns, rows, c.halfWidth)
}

// SmallestLimit names the smallest limit that is decided reliably, beside the
// combined uncertainty: so many of them.
func SmallestLimit(l analysis.Planned) string {
	return fmt.Sprintf("smallest limit decided reliably (× %.1f)", l.Factor)
}

func figuresOrNone(x float64) string {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return none
	}
	return Figures(x, 2)
}

// LooksInWords says when looks decide, and how long the hold may go on.
func LooksInWords(l analysis.Planned) (out []string) {
	if l.Looks == nil || len(l.Units) == 0 {
		return nil
	}
	var times []string
	for _, t := range l.Looks.Plan {
		times = append(times, seconds(t))
	}
	out = append(out, fmt.Sprintf("with %d looks, %s, after %s", len(times), l.Looks.Spending, strings.Join(times, ", ")))
	if longest := l.Looks.Longest(); longest > l.Looks.Hold {
		out = append(out, fmt.Sprintf("where nothing is decided after its %s, the hold goes on to at most %s (extend_to), as long as more time can settle it",
			seconds(l.Looks.Hold), seconds(longest)))
	}
	means := "a unit without loss is decided or given up after " + seconds(math.Round(l.Units[0].Mean)) + " on average"
	if i := slices.IndexFunc(l.Units, func(s analysis.Stop) bool { return s.Multiple == 1 }); i >= 0 {
		means += ", one exactly at the limit after " + seconds(math.Round(l.Units[i].Mean))
	}
	return append(out, means)
}

// HoldTimesInWords says how long a hold has to be to decide a limit reliably,
// or that no time does.
func HoldTimesInWords(l analysis.Planned) []string {
	switch {
	case l.Absent != "":
		return []string{"no time will settle it: " + l.Absent}
	case math.IsNaN(l.Steady.Duration):
		return []string{"the limit belongs to the length of its hold: another length means another limit"}
	}
	supposed := ""
	if assumed := l.Assumed(); len(assumed) > 0 {
		supposed = ", reckoned with an assumed " + strings.Join(assumed, " and ") + " that nobody has measured"
	}
	one := func(h analysis.HoldTime, where string) string {
		if math.IsInf(h.Duration, 1) {
			return "no time will settle it " + where + ": what is left is mostly " + h.Left.Source + supposed
		}
		return "a hold of " + seconds(h.Duration) + " decides it reliably " + where + supposed
	}
	if l.Steady.Duration == l.Changing.Duration && !math.IsInf(l.Steady.Duration, 1) {
		return []string{"a hold of " + seconds(l.Steady.Duration) + " decides it reliably" + supposed}
	}
	return []string{
		one(l.Steady, "if the temperature changes by no more than that swing"),
		one(l.Changing, "if it changes on as quickly"),
	}
}
