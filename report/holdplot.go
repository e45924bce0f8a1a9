package report

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/report/figure"
	"holdbench/report/lettering"
	"holdbench/report/result"
)

// plotHeights are the heights that a figure may have, best first.
var plotHeights = []vg.Length{72 * mm, 66 * mm, 61 * mm, 57 * mm, 53 * mm, 49 * mm, 45 * mm}

const (
	overviewWidth  = 46 * mm
	pressureShare  = 2.2
	limitLinesMost = 4
)

// holds are the holds of the circuits that have curves.
func (c *composer) holds() (all []hold) {
	for _, circuit := range c.f.Result.Circuits {
		a, ok := c.f.assessment(circuit.Name)
		if !ok || len(a.Curves.Time) < 2 {
			continue
		}
		all = append(all, hold{c: c, a: a, rec: c.f.recorded(circuit.Name), limits: holdLimits(circuit)})
	}
	return all
}

// holdFound says how the hold was found where no events tell it.
func (c *composer) holdFound() block {
	var b block
	for _, how := range c.f.holdsFound() {
		b.body = append(b.body, c.aside(how).body...)
	}
	return b
}

// holdsFound are full sentences: the facts' own, else those of the tests.
func (f Facts) holdsFound() (all []string) {
	add := func(how string) {
		if how == "" {
			return
		}
		if !strings.HasPrefix(strings.ToLower(how), "hold") {
			how = "hold: " + how
		}
		if how = fullSentence(how); !slices.Contains(all, how) {
			all = append(all, how)
		}
	}
	if f.HoldFound != "" {
		add(f.HoldFound)
		return all
	}
	for _, circuit := range f.Result.Circuits {
		for _, t := range circuit.Tests {
			if t.Found != nil {
				add(t.Found.How)
			}
		}
	}
	return all
}

// plots are the figures of all circuits under one legend.
func (c *composer) plots() band {
	all := c.holds()
	switch {
	case len(all) == 0:
		return band{}
	case len(all) == 1 && len(all[0].rec.Trapped.Time) > 1:
		return single(c.plotRow(all[:1], true), between)
	}
	b := block{}
	for len(all) > 0 {
		n := min(2, len(all))
		b.body = append(b.body, c.plotRow(all[:n], false).body...)
		all = all[n:]
	}
	return single(b, between)
}

func holdLimits(circuit result.Circuit) (limits []limitOf) {
	for _, t := range circuit.Tests {
		for _, l := range t.Limits {
			limits = append(limits, limitOf{t, l})
		}
	}
	return limits
}

// plotRow is one hold with its overview, or holds side by side.
func (c *composer) plotRow(holds []hold, overview bool) block {
	var figures []figure.Figure
	var lines []figure.Line
	for _, h := range holds {
		f := h.figure()
		figures = append(figures, f)
		for _, p := range f.Panels {
			lines = append(lines, p.Lines...)
		}
	}
	widths := []vg.Length{c.textWidth}
	switch {
	case overview:
		f := holds[0].whole("whole test")
		figures, widths = append(figures, f), []vg.Length{c.textWidth - overviewWidth - gutter/2, overviewWidth}
		lines = append(lines, f.Panels[0].Lines...)
	case len(holds) == 2:
		widths = []vg.Length{c.halfWidth, c.halfWidth}
	}
	caption := vg.Length(0)
	if len(c.f.Result.Circuits) > 1 {
		caption = 11
	}
	legend := c.legend(lines)
	draw := func(p *Page, at vg.Point) {
		legend.draw(p, at)
		x, top := at.X, at.Y-legend.height
		for i, f := range figures {
			if caption > 0 {
				p.text(lettering.Bold(sizeText), figure.Ink, x, top-sizeText, "Circuit "+c.short(lettering.Bold(sizeText), holds[i].a.Circuit, widths[i]/2))
			}
			r := vg.Rectangle{Min: vg.Point{X: x, Y: top - caption - c.plotHeight}, Max: vg.Point{X: x + widths[i], Y: top - caption}}
			p.mark(func(canvas vg.Canvas) { figure.Draw(canvas, r, f) })
			x += widths[i] + (c.textWidth-sum(widths))/vg.Length(max(1, len(widths)-1))
		}
	}
	return block{body: []piece{{height: legend.height + caption + c.plotHeight, draw: draw}}}
}

// legend names lines, over figures.
func (c *setter) legend(lines []figure.Line) piece {
	height := figure.LegendHeight(lines, c.textWidth)
	return piece{height: height + 1, draw: func(p *Page, at vg.Point) {
		r := vg.Rectangle{Min: vg.Point{X: at.X, Y: at.Y - height}, Max: vg.Point{X: at.X + c.textWidth, Y: at.Y}}
		p.mark(func(canvas vg.Canvas) { figure.Legend(canvas, r, lines) })
	}}
}

func sum(lengths []vg.Length) (total vg.Length) {
	for _, l := range lengths {
		total += l
	}
	return total
}

// hold is what the figures of one circuit are drawn from.
type hold struct {
	c      *composer
	a      analysis.Assessment
	rec    Recorded
	limits []limitOf
}

// limitOf is a limit with its test.
type limitOf struct {
	test result.Test
	result.Limit
}

// figure is the hold itself: pressure over temperature.
func (h hold) figure() figure.Figure {
	from, to := h.window()
	unit, seconds := figure.TimeUnit(to - from)
	f := figure.Figure{
		Time:  figure.Axis{Quantity: "time since start", Unit: unit, Low: from / seconds, High: to / seconds},
		Bands: h.bands(seconds, true),
	}
	f.Panels = append(f.Panels, h.pressurePanel(from, to, seconds))
	if p, ok := h.temperaturePanel(from, to, seconds); ok {
		f.Panels = append(f.Panels, p)
	}
	return f
}

// window is the part of the recording that the figure shows, s: the
// stabilising before the hold, as far as it is no longer than the hold, and
// the hold.
func (h hold) window() (from, to float64) {
	length := h.a.End - h.a.Start
	from = h.a.Start - 0.03*length
	for _, p := range h.c.f.Phases {
		if h.has(p) && p.Name == "stabilise" && p.Start < from {
			from = math.Max(p.Start, h.a.Start-0.15*length)
		}
	}
	return from, h.a.End + 0.02*length
}

func (h hold) has(p Phase) bool { return p.Circuit == "" || p.Circuit == h.a.Circuit }

// bands are the phases; without any, the hold that was judged.
func (h hold) bands(seconds float64, named bool) (bands []figure.Band) {
	if len(h.c.f.Phases) == 0 {
		b := figure.Band{From: h.a.Start / seconds, To: h.a.End / seconds, Fill: figure.HoldTint}
		if named {
			b.Name = "hold"
		}
		return []figure.Band{b}
	}
	for i, p := range h.c.f.Phases {
		if !h.has(p) {
			continue
		}
		b := figure.Band{From: p.Start / seconds, To: p.End / seconds, Fill: figure.Paper}
		switch {
		case p.Name == "hold":
			b.Fill = figure.HoldTint
		case i%2 == 0:
			b.Fill = figure.PhaseTint
		}
		if named {
			b.Name = h.c.settable(p.Name)
		}
		bands = append(bands, b)
	}
	return bands
}

func (h hold) pressurePanel(from, to, seconds float64) figure.Panel {
	unit := h.c.display.Unit(si.Pressure)
	curves := h.a.Curves
	measured := figure.Line{Name: "measured", X: over(curves.Time, seconds), Y: shownAs(curves.Measured, unit), Style: figure.Measured}
	if len(h.rec.Trapped.Time) > 1 {
		part := h.rec.Trapped.Window(from, h.a.End)
		measured.X, measured.Y = over(part.Time, seconds), shownAs(part.Value, unit)
	}
	t := over(curves.Time, seconds)
	lines := []figure.Line{
		measured,
		{Name: "compensated", X: t, Y: shownAs(curves.Compensated, unit), Style: figure.Compensated},
		{Name: "fitted", X: t, Y: shownAs(curves.Fitted, unit), Style: figure.Fitted},
	}
	span := newSpan(shownAs(curves.Measured, unit), lines[1].Y, lines[2].Y)
	for i, l := range h.limitLines(seconds) {
		lines = append(lines, l)
		span.take(l.Y...)
		if i+1 == limitLinesMost {
			break
		}
	}
	low, high := span.padded(0.06)
	return figure.Panel{
		Y:     figure.Axis{Quantity: "pressure", Unit: unit.Symbol, Low: low, High: high},
		Lines: lines, Share: pressureShare,
	}
}

func (h hold) temperaturePanel(from, to, seconds float64) (figure.Panel, bool) {
	unit := h.c.display.Unit(si.Temperature)
	curves := h.a.Curves
	var lines []figure.Line
	var span span
	if part := h.rec.Temperature.Window(from, to); len(part.Time) > 1 {
		probe := figure.Line{Name: "probe", X: over(part.Time, seconds), Y: shownAs(part.Value, unit), Style: figure.Probe}
		lines = append(lines, probe)
		span.take(probe.Y...)
	}
	if n := len(curves.LiquidTemperature); n > 1 && n == len(curves.Time) {
		liquid := figure.Line{Name: "liquid, smooth", X: over(curves.Time, seconds), Y: shownAs(curves.LiquidTemperature, unit), Style: figure.Liquid}
		for _, u := range curves.LiquidTemperatureU {
			liquid.Shade = append(liquid.Shade, 1.96*u/unit.Factor)
		}
		lines = append(lines, liquid)
		span.take(liquid.Y...)
	}
	if len(lines) == 0 {
		return figure.Panel{}, false
	}
	low, high := span.padded(0.12)
	return figure.Panel{
		Y:     figure.Axis{Quantity: "temperature", Unit: unit.Symbol, Low: low, High: high},
		Lines: lines, Share: 1,
	}, true
}

// limitLines are the limits as lines from the fitted start.
func (h hold) limitLines(seconds float64) (lines []figure.Line) {
	unit := h.c.display.Unit(si.Pressure)
	curves := h.a.Curves
	n := len(curves.Fitted)
	if n < 2 {
		return nil
	}
	start, first, last := curves.Fitted[0], h.a.Start, h.a.End
	for i, l := range h.limits {
		y := [2]float64{start, start}
		switch l.Quantity {
		case "decay_rate", "leak_rate", "leak_rate_at_test_pressure":
			y[1] = start - l.Value*(last-first)
		case "drop":
			y[1] = start - l.Value
		case "pressure_end", "pressure_after":
			y = [2]float64{l.Value, l.Value}
		default:
			continue
		}
		f := h.c.figuresOf(l.test, l.Limit)
		style := figure.LimitLine
		style.Dash = limitDashes[i%len(limitDashes)]
		lines = append(lines, figure.Line{
			Name:  "limit, " + strings.ToLower(h.c.titleOf(l.Quantity, l.After)) + " " + f.limitText() + " " + f.estimate.unit.Symbol,
			X:     []float64{first / seconds, last / seconds},
			Y:     []float64{unit.FromSI(y[0]), unit.FromSI(y[1])},
			Style: style,
		})
	}
	return lines
}

var limitDashes = [][]vg.Length{{5, 2.5}, {7, 2, 1.5, 2}, {2, 2}, {9, 3, 2, 2, 2, 3}}

// whole is the whole test; under a title the phases have no names.
func (h hold) whole(title string) figure.Figure {
	t := h.rec.Trapped.Time
	from, to := t[0], t[len(t)-1]
	unit, seconds := figure.TimeUnit(to - from)
	pressure := h.c.display.Unit(si.Pressure)
	trapped := figure.Line{Name: "measured", X: over(t, seconds), Y: shownAs(h.rec.Trapped.Value, pressure), Style: figure.Measured}
	trapped.Style.Width = 0.9
	trapped.Style.Color = figure.Soft
	span := newSpan(trapped.Y)
	lines := []figure.Line{trapped}
	if len(h.rec.Feed.Time) > 1 {
		feed := figure.Line{Name: "feed side", X: over(h.rec.Feed.Time, seconds), Y: shownAs(h.rec.Feed.Value, pressure), Style: figure.Feed}
		span.take(feed.Y...)
		lines = append(lines, feed)
	}
	low, high := span.padded(0.06)
	f := figure.Figure{
		Title:  title,
		Time:   figure.Axis{Quantity: "time since start", Unit: unit, Low: from / seconds, High: to / seconds},
		Bands:  h.bands(seconds, title == ""),
		Panels: []figure.Panel{{Y: figure.Axis{Quantity: "pressure", Unit: pressure.Symbol, Low: low, High: high}, Lines: lines, Share: pressureShare}},
	}
	if part := h.rec.Temperature; len(part.Time) > 1 {
		temperature := h.c.display.Unit(si.Temperature)
		probe := figure.Line{Name: "probe", X: over(part.Time, seconds), Y: shownAs(part.Value, temperature), Style: figure.Probe}
		span := newSpan(probe.Y)
		low, high := span.padded(0.12)
		f.Panels = append(f.Panels, figure.Panel{Y: figure.Axis{Quantity: "temperature", Unit: temperature.Symbol, Low: low, High: high}, Lines: []figure.Line{probe}, Share: 1})
	}
	return f
}

// over turns seconds into the axis' unit of time.
func over(t []float64, seconds float64) []float64 {
	out := make([]float64, len(t))
	for i, v := range t {
		out[i] = v / seconds
	}
	return out
}

func shownAs(values []float64, u si.Unit) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = u.FromSI(v)
	}
	return out
}

// span is the range of values that an axis has to show.
type span struct {
	low, high float64
	any       bool
}

func newSpan(columns ...[]float64) (s span) {
	for _, c := range columns {
		s.take(c...)
	}
	return s
}

func (s *span) take(values ...float64) {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		if !s.any {
			s.low, s.high, s.any = v, v, true
		}
		s.low, s.high = math.Min(s.low, v), math.Max(s.high, v)
	}
}

// padded returns the span with that share of it added on either side; a span
// of nothing gets a width.
func (s span) padded(share float64) (low, high float64) {
	width := s.high - s.low
	if width <= 1e-9*math.Abs(s.high) {
		width = math.Max(1, math.Abs(s.high)*1e-3)
		return s.low - width/2, s.high + width/2
	}
	return s.low - share*width, s.high + share*width
}
