package report

import (
	"image/color"
	"strconv"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"holdbench/analysis/si"
	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// setter sets texts and tables on one paper, in the same units throughout.
type setter struct {
	sheet
	display si.Display
	// lacking is true once a character was met that the typeface lacks.
	lacking bool
}

// newSetter sets on that paper; no paper means A4, no units the usual ones.
func newSetter(p Paper, d si.Display) setter {
	if d == (si.Display{}) {
		d = si.DefaultDisplay
	}
	return setter{sheet: sheetOf(p), display: d}
}

// wrap breaks a text into lines, as it can be set.
func (c *setter) wrap(f font.Face, s string, width vg.Length, most int) []string {
	return lettering.Wrap(f, c.settable(s), width, most)
}

// short shortens a text to one line, as it can be set.
func (c *setter) short(f font.Face, s string, width vg.Length) string {
	return lettering.Shorten(f, c.settable(s), width)
}

func (c *setter) settable(s string) string {
	s, lacking := lettering.Settable(s)
	c.lacking = c.lacking || lacking
	return s
}

// title is a block's heading.
func (c *setter) title(s string, width vg.Length) piece {
	face := lettering.Bold(sizeTitle)
	s = c.short(face, s, width)
	return piece{height: 12, draw: func(p *Page, at vg.Point) {
		p.text(face, figure.Ink, at.X, at.Y-sizeTitle*lettering.CapHeight-1, s)
	}}
}

// paragraph is wrapped text, a piece a line.
func (c *setter) paragraph(f font.Face, ink color.Color, lead vg.Length, s string, width vg.Length) (pieces []piece) {
	for _, line := range c.wrap(f, s, width, 0) {
		pieces = append(pieces, piece{height: lead, draw: func(p *Page, at vg.Point) {
			p.text(f, ink, at.X, at.Y-f.Font.Size*0.9, line)
		}})
	}
	return pieces
}

// aside is a paragraph in small type over the whole width.
func (c *setter) aside(s string) block {
	return block{body: c.paragraph(lettering.Regular(sizeTiny), figure.Soft, sizeTiny+2, s, c.textWidth)}
}

// item is a paragraph behind a dash.
func (c *setter) item(s string, width vg.Length) []piece {
	const indent = vg.Length(8)
	face := lettering.Regular(sizeText)
	pieces := c.paragraph(face, figure.Ink, leading, s, width-indent)
	for i, inner := range pieces {
		pieces[i].draw = func(p *Page, at vg.Point) {
			if i == 0 {
				p.text(face, figure.Soft, at.X, at.Y-sizeText*0.9, "–")
			}
			inner.draw(p, vg.Point{X: at.X + indent, Y: at.Y})
		}
	}
	return pieces
}

// top draws what stands over the rule of every page: the program's name, what
// the page is, and beside it a note in a frame. It returns the rule's height.
func (c *setter) top(p *Page, what, note string) vg.Length {
	y := c.paper.Height - marginTop
	p.text(lettering.Bold(sizeText), figure.Ink, marginSide, y-sizeText*lettering.CapHeight, "holdbench")
	y -= sizeText*lettering.CapHeight + 4
	p.rule(figure.Ink, 1.1, vg.Point{X: marginSide, Y: y}, vg.Point{X: c.right(), Y: y})
	face := lettering.Regular(sizeText)
	right := c.right()
	p.textRight(face, figure.Ink, right, y+4, what)
	if note == "" {
		return y
	}
	bold := lettering.Bold(sizeTiny)
	note = c.short(bold, note, c.textWidth/2)
	w := lettering.Width(bold, note)
	right -= lettering.Width(face, what) + 16
	p.outline(figure.Ink, 0.6, []vg.Length{2, 1.2}, box(vg.Point{X: right - w - 5, Y: y + 12}, w+10, 10.5))
	p.text(bold, figure.Ink, right-w, y+4.6, note)
	return y
}

// foot draws the page's foot: where it came from, and which of how many.
func (c *setter) foot(p *Page, from string, number, of int) {
	face := lettering.Regular(sizeTiny)
	y := marginBottom - 2*mm
	p.hairline(marginSide, y, c.textWidth)
	y -= sizeTiny + 2.5
	count := "page " + strconv.Itoa(number) + " of " + strconv.Itoa(of)
	p.textRight(face, figure.Soft, c.right(), y, count)
	p.text(face, figure.Soft, marginSide, y, c.short(face, from, c.textWidth-lettering.Width(face, count)-12))
	if c.lacking {
		const note = "Characters that the typeface cannot show stand as code points: ‹U+…›."
		p.text(face, figure.Soft, marginSide, y-sizeTiny-2, note)
	}
}

// number the pages at their feet.
func (c *setter) number(pages []*Page, from string) []Page {
	done := make([]Page, len(pages))
	for i, p := range pages {
		c.foot(p, from, i+1, len(pages))
		done[i] = *p
	}
	return done
}
