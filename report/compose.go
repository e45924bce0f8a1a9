package report

import (
	"image/color"
	"strconv"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// composer lays out pages from facts.
type composer struct {
	f Facts
	// plotHeight is the height of the figures.
	plotHeight vg.Length
	// lacking is true once a character was met that the typeface lacks.
	lacking bool
}

// Compose lays out the page of one unit, and further pages where the content
// needs them; the figure gives way as far as that saves a page. f.Result must
// not be nil. It has no failure: what is unknown is shown as unknown.
func Compose(f Facts) []Page {
	var best []Page
	for _, height := range plotHeights {
		c := &composer{f: f, plotHeight: height}
		if pages := c.compose(); best == nil || len(pages) < len(best) {
			best = pages
		}
		if len(best) == 1 {
			break
		}
	}
	return best
}

func (c *composer) compose() []Page {
	flow := flow{begin: c.begin}
	flow.next()
	flow.fresh = false
	bands := []band{
		single(c.verdictBox(), between),
		single(c.pressurised(), 2*mm),
		c.plots(),
		single(c.limits(), between),
		c.reasons(),
	}
	bands = append(bands, c.figures()...)
	bands = append(bands,
		single(c.absent(), 2*mm),
		single(c.instruments(), between),
		c.safety(),
		single(c.origins(), 2*mm),
	)
	for _, b := range bands {
		flow.add(b)
	}
	pages := make([]Page, len(flow.pages))
	for i, p := range flow.pages {
		c.foot(p, i+1, len(pages))
		pages[i] = *p
	}
	return pages
}

// wrap breaks a text into lines, as it can be set.
func (c *composer) wrap(f font.Face, s string, width vg.Length, most int) []string {
	return lettering.Wrap(f, c.settable(s), width, most)
}

// short shortens a text to one line, as it can be set.
func (c *composer) short(f font.Face, s string, width vg.Length) string {
	return lettering.Shorten(f, c.settable(s), width)
}

func (c *composer) settable(s string) string {
	s, lacking := lettering.Settable(s)
	c.lacking = c.lacking || lacking
	return s
}

// title is a block's heading.
func (c *composer) title(s string, width vg.Length) piece {
	face := lettering.Bold(sizeTitle)
	s = c.short(face, s, width)
	return piece{height: 12, draw: func(p *Page, at vg.Point) {
		p.text(face, figure.Ink, at.X, at.Y-sizeTitle*lettering.CapHeight-1, s)
	}}
}

// paragraph is wrapped text, a piece a line.
func (c *composer) paragraph(f font.Face, ink color.Color, lead vg.Length, s string, width vg.Length) (pieces []piece) {
	for _, line := range c.wrap(f, s, width, 0) {
		pieces = append(pieces, piece{height: lead, draw: func(p *Page, at vg.Point) {
			p.text(f, ink, at.X, at.Y-f.Font.Size*0.9, line)
		}})
	}
	return pieces
}

// item is a paragraph behind a dash.
func (c *composer) item(s string, width vg.Length) []piece {
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

// foot draws the page's foot: what it is, and which of how many.
func (c *composer) foot(p *Page, number, of int) {
	face := lettering.Regular(sizeTiny)
	r := c.f.Result
	y := marginBottom - 2*mm
	p.hairline(marginSide, y, textWidth)
	y -= sizeTiny + 2.5
	count := "page " + strconv.Itoa(number) + " of " + strconv.Itoa(of)
	p.textRight(face, figure.Soft, marginSide+textWidth, y, count)
	left := program(r.Assessment.Program)
	if !strings.Contains(c.f.ReportFile, r.RunID) {
		left += " · run " + r.RunID
	}
	if c.f.ReportFile != "" {
		left += " · " + c.f.ReportFile
	}
	room := textWidth - lettering.Width(face, count) - 12
	p.text(face, figure.Soft, marginSide, y, c.short(face, left, room))
	if c.lacking {
		const note = "Characters that the typeface cannot show stand as code points: ‹U+…›."
		p.text(face, figure.Soft, marginSide, y-sizeTiny-2, note)
	}
}
