package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/report/figure"
)

// Calibration is what a page on a channel's comparison with a reference
// shows. SI; NaN where not known.
type Calibration struct {
	Channel, Instrument, Bench string
	Reference, Certificate, By string
	Before                     string // the certificate that was applied as found
	Date, Due                  time.Time
	Quantity                   si.Quantity
	Temperature                float64 // K
	Fit, Correction            string
	Points                     []CalibrationRow
	// Stops in the order in which they were taken.
	Stops                                          []CalibrationStop
	Hysteresis, Repeatability, Residual, Linearity float64
	AsFound, AsLeft                                float64 // largest deviations
	Budget                                         uncertainty.Budget
	U, DOF, Stated                                 float64
	RunID                                          string
	Cautions                                       []string
	Display                                        si.Display
	Paper                                          Paper
	Program, Note                                  string
	At                                             time.Time
}

// CalibrationRow is one point: means over all cycles, and their scatter.
type CalibrationRow struct {
	Reference, Indicated, AsFound, AsLeft, Hysteresis, Repeatability float64
}

// CalibrationStop is one stop; AsFound and AsLeft are deviations.
type CalibrationStop struct {
	Cycle                      int
	Up                         bool
	Reference, AsFound, AsLeft float64
}

// CalibrationDocument lays out the page. It has no failure.
func CalibrationDocument(f Calibration) Document {
	c := newSetter(f.Paper, f.Display)
	flow := newFlow(c.sheet, c.plainHead("Calibration", f.Channel+", "+f.Bench, f.Note))
	var cautions block
	for _, text := range f.Cautions {
		cautions.body = append(cautions.body, c.item(text, c.textWidth)...)
	}
	flow.add(single(cautions, 0))
	flow.add(single(c.keyTable("What was compared", f.subject(c.display)), between))
	if fig, ok := c.calibrationFigure(f); ok {
		flow.add(single(block{body: []piece{c.figurePiece("Deviation from the reference, up and down", fig, 92*mm)}}, between))
	}
	flow.add(single(c.calibrationTable(f), between))
	flow.add(single(c.keyTable("What the comparison says", f.figures(c.display)), between))
	flow.add(single(c.calibrationBudget(f), between))
	return Document{
		Meta:  Meta{Title: "Calibration of " + f.Channel + ", " + f.Bench, Creator: program(f.Program), Created: f.At},
		Pages: c.number(flow.pages, program(f.Program)),
	}
}

func (f Calibration) subject(d si.Display) [][2]string {
	temperature := notStated
	if !math.IsNaN(f.Temperature) {
		unit := d.Unit(si.Temperature)
		temperature = si.Format(unit.FromSI(f.Temperature), 1) + " " + unit.Symbol
	}
	before := f.Before
	if before == "" {
		before = "none: as indicated"
	}
	return [][2]string{
		{"channel, instrument", f.Channel + ", " + f.Instrument}, {"bench", f.Bench}, {"reference", f.Reference},
		{"certificate number", f.Certificate}, {"date", f.Date.Format(time.DateOnly)}, {"due", f.Due.Format(time.DateOnly)},
		{"made by", orNone(f.By)}, {"temperature of the surroundings", temperature},
		{"as found: calibration applied", before}, {"recording", f.RunID},
	}
}

func (f Calibration) figures(d si.Display) [][2]string {
	change := d.Unit(f.Quantity.Difference())
	show := func(x float64) string {
		if math.IsNaN(x) {
			return "not known"
		}
		return number(x/change.Factor, max(si.Decimals(f.Stated/change.Factor), 2)+1) + " " + change.Symbol
	}
	expanded := uncertainty.T(0.975, f.DOF) * f.U
	return [][2]string{
		{"correction", f.Fit + ": " + trueMinus(f.Correction)},
		{"largest deviation as found", show(f.AsFound)},
		{"largest deviation as left", show(f.AsLeft)},
		{"hysteresis, largest", show(f.Hysteresis)},
		{"repeatability (1 SD)", show(f.Repeatability)},
		{"residual of a point's mean, largest", show(f.Residual)},
		{"linearity: largest from the best line", show(f.Linearity)},
		{"standard uncertainty u (k = 1)", show(f.U)},
		{"expanded uncertainty (95 %)", show(expanded)},
		{"standard uncertainty as the block states it", show(f.Stated)},
	}
}

func (c *setter) calibrationTable(f Calibration) block {
	value, change := c.display.Unit(f.Quantity), c.display.Unit(f.Quantity.Difference())
	decimals := max(si.Decimals(f.Stated/change.Factor), 2) + 1
	show := func(x float64) string {
		if math.IsNaN(x) {
			return none
		}
		return number(x/change.Factor, decimals)
	}
	var rows []row
	for _, p := range f.Points {
		rows = append(rows, row{cells: []string{
			number(value.FromSI(p.Reference), decimals), number(value.FromSI(p.Indicated), decimals), show(p.AsFound), show(p.AsLeft), show(p.Hysteresis), show(p.Repeatability),
		}})
	}
	return c.table("Point by point ["+value.Symbol+"], means over all cycles", []column{
		{title: "reference", kind: numbers}, {title: "indicated, uncorrected", kind: numbers}, {title: "deviation as found", kind: numbers}, {title: "deviation as left", kind: numbers},
		{title: "hysteresis", kind: numbers}, {title: "repeatability", kind: numbers},
	}, rows, c.textWidth)
}

func (c *setter) calibrationBudget(f Calibration) block {
	change := c.display.Unit(f.Quantity.Difference())
	show := func(x float64) string { return number(x/change.Factor, 4) }
	dof := func(x float64) string {
		if math.IsInf(x, 1) {
			return "∞"
		}
		return number(x, 0)
	}
	var rows []row
	for _, l := range f.Budget {
		rows = append(rows, row{cells: []string{l.Source, show(l.StdUncertainty), dof(l.DegreesOfFreedom), l.Note}})
	}
	rows = append(rows, row{bold: true, ruled: true, cells: []string{"together", show(f.U), dof(f.DOF), "root of the sum of squares; effective degrees of freedom"}})
	return c.table("Uncertainty of a corrected value ["+change.Symbol+"]", []column{
		{title: "from", weight: 1}, {title: "u (k = 1)", kind: numbers}, {title: "degrees of freedom", kind: rights}, {title: "how", weight: 2.2},
	}, rows, c.textWidth)
}

// The strokes of the way up and of the way down.
var (
	upward   = figure.Style{Color: figure.Ink, Width: 1.2}
	downward = figure.Style{Color: figure.Compensated.Color, Width: 1.1, Dash: []vg.Length{3, 1.8}}
)

// calibrationFigure is the deviations as found over those as left, each cycle a
// loop.
func (c *setter) calibrationFigure(f Calibration) (figure.Figure, bool) {
	if len(f.Points) < 2 {
		return figure.Figure{}, false
	}
	value, change := c.display.Unit(f.Quantity), c.display.Unit(f.Quantity.Difference())
	var x span
	for _, s := range f.Stops {
		x.take(value.FromSI(s.Reference))
	}
	low, high := x.padded(0.04)
	fig := figure.Figure{Time: figure.Axis{Quantity: "reference", Unit: value.Symbol, Low: low, High: high}}
	for i, part := range []struct {
		title string
		of    func(CalibrationStop) float64
	}{
		{"deviation as found", func(s CalibrationStop) float64 { return s.AsFound }},
		{"deviation as left", func(s CalibrationStop) float64 { return s.AsLeft }},
	} {
		lines, y := c.loops(f, i == 0, value, change, part.of)
		y.take(0)
		if i == 1 { // what a corrected value may be off by
			half := 1.96 * f.Stated / change.Factor
			y.take(half, -half)
			for _, edge := range []float64{half, -half} {
				lines = append(lines, figure.Line{Name: map[bool]string{true: "expanded uncertainty (95 %)"}[edge > 0], X: []float64{low, high}, Y: []float64{edge, edge}, Style: figure.LimitLine})
			}
		}
		lines = append(lines, figure.Line{X: []float64{low, high}, Y: []float64{0, 0}, Style: figure.Zero})
		bottom, top := y.padded(0.12)
		fig.Panels = append(fig.Panels, figure.Panel{Y: figure.Axis{Quantity: part.title, Unit: change.Symbol, Low: bottom, High: top}, Share: 1, Lines: lines})
	}
	return fig, true
}

// loops are the lines of every cycle, up and down.
func (c *setter) loops(f Calibration, named bool, value, change si.Unit, of func(CalibrationStop) float64) (lines []figure.Line, y span) {
	seen := map[bool]bool{}
	for i := 0; i < len(f.Stops); {
		first := f.Stops[i]
		var xs, ys []float64
		for ; i < len(f.Stops) && f.Stops[i].Cycle == first.Cycle && f.Stops[i].Up == first.Up; i++ {
			xs, ys = append(xs, value.FromSI(f.Stops[i].Reference)), append(ys, of(f.Stops[i])/change.Factor)
		}
		y.take(ys...)
		style, name := upward, "up"
		if !first.Up {
			style, name = downward, "down"
			for a, b := 0, len(xs)-1; a < b; a, b = a+1, b-1 { // lines go from left to right
				xs[a], xs[b], ys[a], ys[b] = xs[b], xs[a], ys[b], ys[a]
			}
		}
		if seen[first.Up] || !named {
			name = ""
		}
		seen[first.Up] = true
		lines = append(lines, figure.Line{Name: name, X: xs, Y: ys, Style: style})
	}
	return lines, y
}

// CalibrationCorrection writes a correction in words: its points' number, or its
// coefficients.
func CalibrationCorrection(points int, coefficients []float64, unit string) string {
	if len(coefficients) == 0 {
		return fmt.Sprintf("between %d points", points)
	}
	var terms []string
	for i, k := range coefficients {
		terms = append(terms, "c"+strconv.Itoa(i)+" = "+strconv.FormatFloat(k, 'g', 7, 64))
	}
	return "reference = c0 + c1·x" + map[bool]string{true: " + c2·x²"}[len(coefficients) > 2] + " in " + unit + "; " + strings.Join(terms, ", ")
}
