package report

import (
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"holdbench/analysis/si"
	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// plotHeights are the heights that a figure may have, best first.
var plotHeights = []vg.Length{72 * mm, 66 * mm, 61 * mm, 57 * mm, 53 * mm, 49 * mm, 45 * mm, 42 * mm}

const (
	overviewWidth  = 46 * mm
	pressureShare  = 2.2
	limitLinesMost = 4
)

// plots are the figures of all circuits under one legend.
func (c *composer) plots() band {
	all := c.holds()
	switch {
	case len(all) == 0:
		return band{}
	case len(all) == 1 && all[0].allTrapped.isLine():
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

// plotRow is one hold with its overview, or holds side by side.
func (c *composer) plotRow(holds []hold, overview bool) block {
	var figures []figure.Figure
	var lines []figure.Line
	for _, h := range holds {
		figures = append(figures, h.figure())
	}
	alike(figures)
	for _, f := range figures {
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
				p.text(lettering.Bold(sizeText), figure.Ink, x, top-sizeText, "Circuit "+c.short(lettering.Bold(sizeText), holds[i].circuit, widths[i]/2))
			}
			r := vg.Rectangle{Min: vg.Point{X: x, Y: top - caption - c.plotHeight}, Max: vg.Point{X: x + widths[i], Y: top - caption}}
			p.mark(func(canvas vg.Canvas) { figure.Draw(canvas, r, f) })
			x += widths[i] + (c.textWidth-sum(widths))/vg.Length(max(1, len(widths)-1))
		}
	}
	return block{body: []piece{{height: legend.height + caption + c.plotHeight, draw: draw}}}
}

// alike gives the pressure panels of figures side by side axes of the same
// width, so that equal rates slope alike; where their axes meet, the same axis.
func alike(figures []figure.Figure) {
	if len(figures) != 2 || len(figures[0].Panels) == 0 || len(figures[1].Panels) == 0 {
		return
	}
	a, b := &figures[0].Panels[0].Y, &figures[1].Panels[0].Y
	if a.Low < b.High && b.Low < a.High {
		low, high := math.Min(a.Low, b.Low), math.Max(a.High, b.High)
		a.Low, a.High, b.Low, b.High = low, high, low, high
		return
	}
	width := math.Max(a.High-a.Low, b.High-b.Low)
	for _, y := range []*figure.Axis{a, b} {
		more := (width - (y.High - y.Low)) / 2
		y.Low, y.High = y.Low-more, y.High+more
	}
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

// figure is the hold itself: pressure over temperature.
func (h hold) figure() figure.Figure {
	from, to := h.window()
	unit, seconds := figure.TimeUnit(to - from)
	f := figure.Figure{
		Time:  figure.Axis{Quantity: "time since start", Unit: unit, Low: from / seconds, High: to / seconds},
		Bands: h.bands(seconds, true),
	}
	f.Panels = append(f.Panels, h.pressurePanel(seconds))
	if p, ok := h.temperaturePanel(seconds); ok {
		f.Panels = append(f.Panels, p)
	}
	return f
}

// bands are the phases; without any, the hold that was judged.
func (h hold) bands(seconds float64, named bool) (bands []figure.Band) {
	if len(h.c.f.Phases) == 0 {
		b := figure.Band{From: h.start / seconds, To: h.end / seconds, Fill: figure.HoldTint}
		if named {
			b.Name = "hold"
		}
		return []figure.Band{b}
	}
	own := 0 // the other circuit's phases do not count
	for _, p := range h.c.f.Phases {
		if !h.has(p) {
			continue
		}
		own++
		b := figure.Band{From: p.Start / seconds, To: p.End / seconds, Fill: figure.Paper}
		switch {
		case p.Name == "hold":
			b.Fill = figure.HoldTint
		case own%2 == 1:
			b.Fill = figure.PhaseTint
		}
		if named {
			b.Name = h.c.settable(p.Name)
		}
		bands = append(bands, b)
	}
	return bands
}

// measuredName is the measured pressure in a legend.
func (h hold) measuredName() string {
	if h.raw {
		return "measured (not compensated)"
	}
	return "measured"
}

func (h hold) pressurePanel(seconds float64) figure.Panel {
	unit := h.c.display.Unit(si.Pressure)
	measured := h.measured
	if h.trapped.isLine() {
		measured = h.trapped
	}
	lines := []figure.Line{measured.line(h.measuredName(), seconds, unit, figure.Measured)}
	if !h.raw {
		lines = append(lines, h.compensated.line("compensated", seconds, unit, figure.Compensated))
	}
	lines = append(lines, h.fitted.line("fitted", seconds, unit, figure.Fitted))
	span := newSpan(shownAs(h.measured.y, unit), shownAs(h.compensated.y, unit), shownAs(h.fitted.y, unit))
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

func (h hold) temperaturePanel(seconds float64) (figure.Panel, bool) {
	unit := h.c.display.Unit(si.Temperature)
	var lines []figure.Line
	var span span
	if h.temperature.isLine() {
		probe := h.temperature.line("probe", seconds, unit, figure.Probe)
		lines = append(lines, probe)
		span.take(probe.Y...)
	}
	if h.liquid.isLine() {
		liquid := h.liquid.line("liquid, smooth", seconds, unit, figure.Liquid)
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
	start, first, last := h.fittedStart, h.start, h.end
	if math.IsNaN(start) {
		return nil
	}
	for i, l := range h.limits {
		x, y := []float64{first, last}, []float64{start, start}
		switch l.Quantity {
		case "decay_rate", "leak_rate", "leak_rate_at_test_pressure":
			x, y = h.fallingAt(l.Value)
		case "drop":
			y[1] = start - l.Value
		case "pressure_end", "pressure_after":
			y = []float64{l.Value, l.Value}
		default:
			continue
		}
		f := h.c.figuresOf(l.test, l.Limit)
		style := figure.LimitLine
		style.Dash = limitDashes[i%len(limitDashes)]
		lines = append(lines, figure.Line{
			Name:  "limit, " + strings.ToLower(h.c.titleOf(l.Quantity, l.After)) + " " + f.limitText() + " " + f.estimate.unit.Symbol,
			X:     over(x, seconds),
			Y:     shownAs(y, unit),
			Style: style,
		})
	}
	return lines
}

// fallingAt is what falls at a rate from the fitted pressure at the beginning of
// the hold, and anew at that of each of its segments; NaN parts them.
func (h hold) fallingAt(rate float64) (x, y []float64) {
	for i, s := range h.segments {
		if i > 0 {
			x, y = append(x, s.from), append(y, math.NaN())
		}
		x, y = append(x, s.from, s.to), append(y, s.level, s.level-rate*(s.to-s.from))
	}
	return x, y
}

var limitDashes = [][]vg.Length{{5, 2.5}, {7, 2, 1.5, 2}, {2, 2}, {9, 3, 2, 2, 2, 3}}

// whole is the whole test; under a title the phases have no names.
func (h hold) whole(title string) figure.Figure {
	t := h.allTrapped.t
	from, to := t[0], t[len(t)-1]
	unit, seconds := figure.TimeUnit(to - from)
	pressure := h.c.display.Unit(si.Pressure)
	style := figure.Measured
	style.Width, style.Color = 0.9, figure.Soft
	lines := []figure.Line{h.allTrapped.line(h.measuredName(), seconds, pressure, style)}
	span := newSpan(lines[0].Y)
	if h.allFeed.isLine() {
		feed := h.allFeed.line("feed side", seconds, pressure, figure.Feed)
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
	if h.allTemperature.isLine() {
		temperature := h.c.display.Unit(si.Temperature)
		probe := h.allTemperature.line("probe", seconds, temperature, figure.Probe)
		span := newSpan(probe.Y)
		low, high := span.padded(0.12)
		f.Panels = append(f.Panels, figure.Panel{Y: figure.Axis{Quantity: "temperature", Unit: temperature.Symbol, Low: low, High: high}, Lines: []figure.Line{probe}, Share: 1})
	}
	return f
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
