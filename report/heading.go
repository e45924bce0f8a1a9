package report

import (
	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// factColumns are the columns of facts, as shares of the width.
var factColumns = [...]vg.Length{0.225, 0.295, 0.25, 0.23}

const factGap = 4.5 * mm

// begin draws a page's head and returns where its content begins.
func (c *composer) begin(p *Page, number int) vg.Length {
	y := PageHeight - marginTop
	small := lettering.Bold(sizeText)
	p.text(small, figure.Ink, marginSide, y-sizeText*lettering.CapHeight, "holdbench")
	y -= sizeText*lettering.CapHeight + 4
	p.rule(figure.Ink, 1.1, vg.Point{X: marginSide, Y: y}, vg.Point{X: marginSide + textWidth, Y: y})
	c.tag(p, y+4)
	if number > 1 {
		return c.nextHead(p, y)
	}
	y = c.serial(p, y-4*mm)
	return c.facts(p, y-3.5*mm)
}

// tag draws the title of the page, and the result's note beside it in a frame.
func (c *composer) tag(p *Page, y vg.Length) {
	face := lettering.Regular(sizeText)
	right := marginSide + textWidth
	p.textRight(face, figure.Ink, right, y, "Hold test")
	if c.f.Result.Note == "" {
		return
	}
	bold := lettering.Bold(sizeTiny)
	note := c.short(bold, c.f.Result.Note, textWidth/2)
	w := lettering.Width(bold, note)
	right -= lettering.Width(face, "Hold test") + 16
	p.outline(figure.Ink, 0.6, []vg.Length{2, 1.2}, box(vg.Point{X: right - w - 5, Y: y + 8}, w+10, 10.5))
	p.text(bold, figure.Ink, right-w, y+0.6, note)
}

// nextHead is the head of a page that goes on.
func (c *composer) nextHead(p *Page, y vg.Length) vg.Length {
	face, bold := lettering.Regular(sizeText), lettering.Bold(sizeText)
	word := c.verdict()
	y -= 4 * mm
	p.textRight(bold, figure.Ink, marginSide+textWidth, y, word)
	serial := "Serial number " + c.f.Result.SerialNumber + ", continued"
	p.text(face, figure.Ink, marginSide, y, c.short(face, serial, textWidth-lettering.Width(bold, word)-20))
	y -= 2 * mm
	p.hairline(marginSide, y, textWidth)
	return y - 5*mm
}

// serial sets the serial number as large as it fits, on several small lines
// where it is very long, and returns the height below it.
func (c *composer) serial(p *Page, y vg.Length) vg.Length {
	label := lettering.Regular(sizeTiny)
	p.text(label, figure.Soft, marginSide, y-sizeTiny*lettering.CapHeight, "serial number")
	y -= sizeTiny + 1
	text := c.settable(c.f.Result.SerialNumber)
	if text == "" {
		text = none
	}
	for _, size := range []vg.Length{22, 18, 15, 12} {
		if face := lettering.Bold(size); lettering.Width(face, text) <= textWidth {
			p.text(face, figure.Ink, marginSide, y-size*lettering.Ascent, text)
			return y - size*1.05
		}
	}
	face := lettering.Bold(10)
	for _, line := range c.wrap(face, text, textWidth, 4) {
		p.text(face, figure.Ink, marginSide, y-10*lettering.Ascent, line)
		y -= 12.5
	}
	return y
}

// fact is a label and what stands under it.
type fact struct{ label, value, small string }

// facts draws who and what in columns and returns the height below them.
func (c *composer) facts(p *Page, y vg.Length) vg.Length {
	r := c.f.Result
	all := []fact{
		{"model", r.Model, ""},
		{"fluid", r.Fluid, ""},
		{"procedure", r.Procedure.Name, shortHash(r.Procedure.Hash)},
		{"bench", r.Bench.Name, shortHash(r.Bench.Hash)},
		{"operator", r.Operator, ""},
		{"started", instant(r.Started), ""},
		{"position", r.Position, ""},
		{"assessment", c.assessed(), ""},
	}
	for len(all) > 0 {
		n := min(len(factColumns), len(all))
		y = c.factRow(p, all[:n], y) - 2.2*mm
		all = all[n:]
	}
	return y + 2.2*mm
}

func (c *composer) assessed() string {
	a := c.f.Result.Assessment
	if a.At.IsZero() {
		return none
	}
	return "no. " + number(float64(a.Number), 0) + ", " + a.At.Format("2006-01-02 15:04")
}

func (c *composer) factRow(p *Page, facts []fact, y vg.Length) vg.Length {
	label, value := lettering.Regular(sizeTiny), lettering.Regular(sizeText)
	bottom, x := y, vg.Length(marginSide)
	for i, f := range facts {
		width, at := textWidth*factColumns[i]-factGap, y-sizeTiny*lettering.CapHeight
		p.text(label, figure.Soft, x, at, f.label)
		if f.value == "" {
			f.value = none
		}
		for _, line := range c.wrap(value, f.value, width, 2) {
			at -= sizeText + 1.8
			p.text(value, figure.Ink, x, at, line)
		}
		if f.small != "" {
			at -= sizeTiny + 1.6
			p.text(label, figure.Soft, x, at, c.short(label, f.small, width))
		}
		bottom = min(bottom, at-2)
		x += width + factGap
	}
	return bottom
}
