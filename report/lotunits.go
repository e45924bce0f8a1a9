package report

import (
	"math"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"holdbench/analysis/verdict"
	"holdbench/report/figure"
	"holdbench/report/lettering"
	"holdbench/report/result"
)

const (
	sparkWidth  = 24 * mm
	sparkHeight = vg.Length(24)
	sparkGap    = vg.Length(3)
	lotPad      = vg.Length(4) // above and below a unit's row
)

// cells are where the columns of a lot's table stand: x and width of each.
type cells struct{ serial, verdict, figure, limit, reason, plot [2]vg.Length }

// columns measures the table: plots, verdicts and figures take what they need,
// and serial numbers up to half of what is left; the reasons have the rest.
func (c *lotComposer) columns() cells {
	var serial, badge, value, limit vg.Length
	plots := 1
	for _, r := range c.lot.Rows {
		serial = max(serial, lettering.Width(lettering.Bold(sizeText), c.settable(r.Result.SerialNumber)), lettering.Width(lettering.Regular(sizeTiny), c.settable(r.Result.Model)))
		badge = max(badge, badgeWidth(wordOf(r.Result)))
		d := c.decided(r.Result)
		value = max(value, lettering.Width(lettering.Regular(sizeText), d.value), lettering.Width(lettering.Regular(sizeTiny), d.quantity))
		limit = max(limit, lettering.Width(lettering.Regular(sizeText), d.limit), lettering.Width(lettering.Regular(sizeTiny), d.bound))
		plots = max(plots, min(2, len(r.curves)))
	}
	plot := vg.Length(plots)*sparkWidth + vg.Length(plots-1)*sparkGap
	if plots > 1 {
		plot = 1.3 * sparkWidth
	}
	value = min(value, 0.25*c.textWidth)
	limit = min(limit, 0.15*c.textWidth)
	rest := c.textWidth - badge - value - limit - plot - 5*cellGap*1.4
	serial = min(max(serial+1, 18*mm), 0.52*rest)
	widths := []vg.Length{serial, badge, value, limit, rest - serial, plot}
	var places [6][2]vg.Length
	x := vg.Length(0)
	for i, w := range widths {
		places[i] = [2]vg.Length{x, w}
		x += w + cellGap*1.4
	}
	return cells{places[0], places[1], places[2], places[3], places[4], places[5]}
}

// decision is the figure that a unit's verdict hung on, as text.
type decision struct{ value, quantity, limit, bound string }

// decided finds the figure of the circuit that has the unit's verdict; where
// no limit decided, that of its first limit.
func (c *lotComposer) decided(r *result.Result) decision {
	for _, deciding := range []bool{true, false} {
		for _, circuit := range r.Circuits {
			if circuit.Verdict != r.Verdict {
				continue
			}
			t, l, ok := decider(circuit)
			if !ok && !deciding {
				t, l, ok = firstLimit(circuit)
			}
			if ok {
				return c.decision(r, circuit, t, l)
			}
		}
	}
	return decision{value: none, limit: none}
}

func firstLimit(circuit result.Circuit) (t result.Test, l result.Limit, ok bool) {
	for _, t := range circuit.Tests {
		for _, l := range t.Limits {
			return t, l, true
		}
	}
	return result.Test{}, result.Limit{}, false
}

func (c *lotComposer) decision(r *result.Result, circuit result.Circuit, t result.Test, l result.Limit) decision {
	f := c.figuresOf(t, l)
	d := decision{quantity: c.titleOf(l.Quantity, l.After), limit: number(f.limit, decimalsFor(f.limit, 2)) + "\u00a0" + f.estimate.unit.Symbol, bound: "at most", value: none}
	if l.Bound == verdict.Min.String() {
		d.bound = "at least"
	}
	if len(r.Circuits) > 1 {
		d.quantity += ", circuit " + circuit.Name
	}
	if f.estimate.known {
		d.value = f.estimate.valueText() + " ± " + f.estimate.expandedText() + " " + f.estimate.unit.Symbol
	}
	return d
}

// units is the table, a row a unit.
func (c *lotComposer) units() block {
	at := c.columns()
	b := block{head: []piece{c.unitsHead(at)}}
	for _, r := range c.lot.Rows {
		b.body = append(b.body, c.unitRow(r, at))
	}
	if len(c.lot.Rows) == 0 {
		b.body = c.item("The lot has no units.", c.textWidth)
	}
	return b
}

func (c *lotComposer) unitsHead(at cells) piece {
	face := lettering.Regular(sizeTiny)
	return piece{height: sizeTiny + 6, draw: func(p *Page, corner vg.Point) {
		y := corner.Y - sizeTiny
		for _, t := range []struct {
			place [2]vg.Length
			title string
		}{
			{at.serial, "serial number"}, {at.verdict, "verdict"}, {at.figure, "deciding figure ±"}, {at.limit, "limit"},
			{at.reason, "reasons"}, {at.plot, "hold"},
		} {
			p.text(face, figure.Soft, corner.X+t.place[0], y, c.short(face, t.title, t.place[1]))
		}
		p.hairline(corner.X, y-3.5, c.textWidth)
	}}
}

// lines are texts in one face.
type lines struct {
	face font.Face
	ink  bool
	text []string
}

// unitRow is one unit's row.
func (c *lotComposer) unitRow(r LotRow, at cells) piece {
	text, tiny, bold := lettering.Regular(sizeText), lettering.Regular(sizeTiny), lettering.Bold(sizeText)
	serial := r.Result.SerialNumber
	if serial == "" {
		serial = notStated
	}
	d := c.decided(r.Result)
	columns := []struct {
		place [2]vg.Length
		parts []lines
	}{
		{at.serial, []lines{{bold, true, c.wrap(bold, serial, at.serial[1], 6)}, {tiny, false, c.wrap(tiny, r.Result.Model, at.serial[1], 2)}}},
		{at.figure, []lines{{text, true, c.wrap(text, d.value, at.figure[1], 2)}, {tiny, false, c.wrap(tiny, d.quantity, at.figure[1], 2)}}},
		{at.limit, []lines{{text, true, c.wrap(text, d.limit, at.limit[1], 2)}, {tiny, false, c.wrap(tiny, d.bound, at.limit[1], 1)}}},
		{at.reason, []lines{{tiny, true, c.wrap(tiny, strings.Join(c.why(r.Result), " "), at.reason[1], 5)}}},
	}
	height := sparkHeight
	for _, col := range columns {
		h := vg.Length(0)
		for _, part := range col.parts {
			h += vg.Length(len(part.text)) * (part.face.Font.Size + 1.8)
		}
		height = max(height, h)
	}
	height += 2 * lotPad
	word := wordOf(r.Result)
	return piece{height: height, draw: func(p *Page, corner vg.Point) {
		p.bookmarkAt(serial+": "+word, 1, corner.Y)
		top := corner.Y - lotPad
		for _, col := range columns {
			y := top
			for _, part := range col.parts {
				for _, s := range part.text {
					y -= part.face.Font.Size + 1.8
					ink := figure.Ink
					if !part.ink {
						ink = figure.Soft
					}
					p.text(part.face, ink, corner.X+col.place[0], y+2.2, s)
				}
			}
		}
		c.badge(p, vg.Point{X: corner.X + at.verdict[0], Y: top - sizeText/2 - 0.5}, word)
		c.sparks(p, vg.Point{X: corner.X + at.plot[0], Y: top}, at.plot[1], r)
		p.rule(figure.Grid, 0.5, vg.Point{X: corner.X, Y: corner.Y - height}, vg.Point{X: corner.X + c.textWidth, Y: corner.Y - height})
	}}
}

// why is what stands in the reasons' column: the result's reasons as
// sentences, those of the circuit that decided first.
func (c *lotComposer) why(r *result.Result) (sentences []string) {
	if !r.Completed {
		sentences = append(sentences, "Not completed.")
	}
	var others []string
	for _, s := range r.Reasons {
		if ofOther(r, s) {
			others = append(others, fullSentence(s))
		} else {
			sentences = append(sentences, fullSentence(s))
		}
	}
	return append(sentences, others...)
}

// ofOther reports whether a reason speaks of a circuit whose verdict is not
// the unit's.
func ofOther(r *result.Result, reason string) bool {
	for _, circuit := range r.Circuits {
		if circuit.Verdict != r.Verdict && strings.HasPrefix(reason, "circuit "+circuit.Name+": ") {
			return true
		}
	}
	return false
}

// sparks draws the holds of a unit side by side, two at most.
func (c *lotComposer) sparks(p *Page, at vg.Point, width vg.Length, r LotRow) {
	n := min(2, len(r.curves))
	if n == 0 {
		return
	}
	each := (width - vg.Length(n-1)*sparkGap) / vg.Length(n)
	for i, s := range r.curves[:n] {
		left := at.X + vg.Length(i)*(each+sparkGap)
		frame := vg.Rectangle{Min: vg.Point{X: left, Y: at.Y - sparkHeight}, Max: vg.Point{X: left + each, Y: at.Y}}
		name := ""
		if len(r.curves) > 1 {
			name = c.settable(s.circuit)
		}
		lines := c.sparkLines(s)
		p.mark(func(canvas vg.Canvas) {
			figure.Spark(canvas, frame, figure.Axis{Low: 0, High: s.length}, c.y, lines, name)
		})
	}
}

func (c *lotComposer) sparkLines(s smallCurve) []figure.Line {
	shown := make([]float64, len(s.change))
	for i, v := range s.change {
		shown[i] = v / c.change.Factor
	}
	curve := figure.Line{X: s.time, Y: shown, Style: figure.Compensated}
	if s.raw {
		curve.Style = figure.Measured
	}
	curve.Style.Dash, curve.Style.Width = nil, 0.8
	if math.IsNaN(s.limit) {
		return []figure.Line{curve}
	}
	end := s.limit / c.change.Factor
	begin := end
	if s.limitFromZero {
		begin = 0
	}
	limit := figure.Line{X: []float64{0, s.length}, Y: []float64{begin, end}, Style: figure.LimitLine}
	limit.Style.Width, limit.Style.Dash = 0.7, []vg.Length{2.5, 1.5}
	return []figure.Line{curve, limit}
}
