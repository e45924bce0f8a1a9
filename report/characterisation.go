package report

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/plot/vg"

	"holdbench/analysis/si"
	"holdbench/report/figure"
)

// Characterisation is what a page on runs that characterise a bench shows.
type Characterisation struct {
	Kind, Bench, Model, Circuit, Fluid string
	PressureLow, PressureHigh          float64 // Pa, NaN where not stated
	// Date of the latest run and the day on which the figures expire.
	Date, Expiry time.Time
	// Rows are figure, what it is with its expanded uncertainty, and a note;
	// Runs are serial number, instant and run id.
	Rows, Runs     [][3]string
	Notes, Refused []string
	Curves         []CharacterisationCurve
	Display        si.Display
	Paper          Paper
	Program        string
	At             time.Time
	Note           string
}

// CharacterisationCurve is what a run measured and what was fitted to it: s since
// the recording's start, Pa.
type CharacterisationCurve struct {
	Title                  string
	Time, Measured, Fitted []float64
	// Probe and Liquid are temperatures at the same times, K: as measured, and
	// as fitted; empty where there are none.
	Probe, Liquid []float64
}

// CharacterisationDocument lays out the page. It has no failure.
func CharacterisationDocument(f Characterisation) Document {
	c := newSetter(f.Paper, f.Display)
	flow := newFlow(c.sheet, c.plainHead("Characterisation", f.Kind, f.Note))
	flow.add(single(c.keyTable("What it is for", f.subject()), 0))
	var rows []row
	for _, r := range f.Rows {
		rows = append(rows, row{cells: r[:]})
	}
	flow.add(single(c.table("Figures", []column{
		{title: "figure", weight: 1}, {title: "value", weight: 1.2}, {title: "from", weight: 1.4},
	}, rows, c.textWidth), between))
	for i, curve := range f.Curves {
		if i == mostCurves {
			break
		}
		if fig, ok := c.curveFigure(curve); ok {
			flow.add(single(block{body: []piece{c.figurePiece(curve.Title, fig, vg.Length(28+21*len(fig.Panels))*mm)}}, between))
		}
	}
	rows = nil
	for _, r := range f.Runs {
		rows = append(rows, row{cells: r[:]})
	}
	flow.add(single(c.table("Runs", []column{{title: "unit", weight: 1}, {title: "started", weight: 1}, {title: "run id", weight: 1.8}}, rows, c.textWidth), between))
	for _, text := range append(f.Notes, f.Refused...) {
		flow.add(single(block{body: c.item(text, c.textWidth)}, 1*mm))
	}
	return Document{
		Meta:  Meta{Title: "Characterisation: " + f.Kind + ", bench " + f.Bench + ", " + f.Model, Creator: program(f.Program), Created: f.At},
		Pages: c.number(flow.pages, program(f.Program)),
	}
}

// mostCurves is how many runs are drawn.
const mostCurves = 6

func (f Characterisation) subject() [][2]string {
	day := func(t time.Time) string {
		if t.IsZero() {
			return notStated
		}
		return t.Format(time.DateOnly)
	}
	pressures := notStated
	if !math.IsNaN(f.PressureLow) {
		unit := f.Display.Unit(si.Pressure)
		pressures = fmt.Sprintf("%.6g to %.6g %s", unit.FromSI(f.PressureLow), unit.FromSI(f.PressureHigh), unit.Symbol)
	}
	return [][2]string{
		{"bench", f.Bench}, {"model, circuit", f.Model + ", " + f.Circuit}, {"fluid", f.Fluid}, {"pressure range", pressures},
		{"date", day(f.Date)}, {"expires", day(f.Expiry)},
	}
}

// curveFigure is what was measured over what was fitted, and what is left.
func (c *setter) curveFigure(curve CharacterisationCurve) (figure.Figure, bool) {
	n := len(curve.Time)
	if n < 2 || len(curve.Measured) != n || len(curve.Fitted) != n {
		return figure.Figure{}, false
	}
	name, seconds := figure.TimeUnit(curve.Time[n-1] - curve.Time[0])
	state, change := c.display.Unit(si.Pressure), c.display.Unit(si.PressureChange)
	var x, measured, fitted, rest, zero []float64
	var s, left span
	for i, t := range curve.Time {
		x = append(x, t/seconds)
		measured, fitted = append(measured, state.FromSI(curve.Measured[i])), append(fitted, state.FromSI(curve.Fitted[i]))
		rest, zero = append(rest, (curve.Measured[i]-curve.Fitted[i])/change.Factor), append(zero, 0)
	}
	s.take(measured...)
	s.take(fitted...)
	left.take(rest...)
	left.take(0)
	low, high := s.padded(0.08)
	below, above := left.padded(0.1)
	f := figure.Figure{
		Time: figure.Axis{Quantity: "time since the recording's start", Unit: name, Low: x[0], High: x[n-1]},
		Panels: []figure.Panel{
			{Y: figure.Axis{Quantity: "pressure", Unit: state.Symbol, Low: low, High: high}, Share: 2, Lines: []figure.Line{
				{Name: "measured, block means", X: x, Y: measured, Style: figure.Compensated},
				{Name: "fitted", X: x, Y: fitted, Style: figure.Fitted},
			}},
			{Y: figure.Axis{Quantity: "residual", Unit: change.Symbol, Low: below, High: above}, Share: 1, Lines: []figure.Line{
				{X: x, Y: rest, Style: figure.Residual},
				{X: x, Y: zero, Style: figure.Zero},
			}},
		},
	}
	if panel, ok := c.temperaturePanel(curve, x); ok {
		f.Panels = append(f.Panels, panel)
	}
	return f, true
}

// temperaturePanel is the probe and the liquid as fitted.
func (c *setter) temperaturePanel(curve CharacterisationCurve, x []float64) (figure.Panel, bool) {
	if len(curve.Probe) != len(x) || len(curve.Liquid) != len(x) {
		return figure.Panel{}, false
	}
	unit := c.display.Unit(si.Temperature)
	var probe, liquid []float64
	var s span
	for i := range x {
		probe, liquid = append(probe, unit.FromSI(curve.Probe[i])), append(liquid, unit.FromSI(curve.Liquid[i]))
	}
	s.take(probe...)
	s.take(liquid...)
	low, high := s.padded(0.1)
	return figure.Panel{Y: figure.Axis{Quantity: "temperature", Unit: unit.Symbol, Low: low, High: high}, Share: 1.2, Lines: []figure.Line{
		{Name: "probe", X: x, Y: probe, Style: figure.Compensated},
		{Name: "liquid, as fitted", X: x, Y: liquid, Style: figure.Liquid},
	}}, true
}
