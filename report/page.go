package report

import (
	"image/color"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// The sizes of type.
const (
	sizeTiny  = vg.Length(6.5) // labels, feet
	sizeText  = vg.Length(8)
	sizeTitle = vg.Length(8.5)
	sizePage  = vg.Length(13) // titles of whole pages

	leading = vg.Length(10) // from baseline to baseline in text
	between = 4 * mm        // white space between blocks
)

// Page is one page: marks that are drawn in their order on any canvas of its
// paper's size.
type Page struct {
	paper     Paper
	marks     []func(vg.Canvas)
	bookmarks []bookmark
}

// bookmark is an entry of the document's outline that leads to a height on the
// page; level 0 is the uppermost.
type bookmark struct {
	title string
	level int
	y     vg.Length
}

// Paper is the paper that the page was laid out for.
func (p Page) Paper() Paper { return sheetOf(p.paper).paper }

// Draw draws the page.
func (p Page) Draw(c vg.Canvas) {
	for _, mark := range p.marks {
		mark(c)
	}
}

func (p *Page) mark(m func(vg.Canvas)) { p.marks = append(p.marks, m) }

// bookmark enters the page in the outline.
func (p *Page) bookmark(title string, level int) {
	p.bookmarkAt(title, level, p.Paper().Height)
}

// bookmarkAt enters a height on the page in the outline.
func (p *Page) bookmarkAt(title string, level int, y vg.Length) {
	p.bookmarks = append(p.bookmarks, bookmark{title, level, y})
}

// text sets s with its baseline's left end at (x, y).
func (p *Page) text(f font.Face, ink color.Color, x, y vg.Length, s string) {
	if s == "" {
		return
	}
	p.mark(func(c vg.Canvas) {
		c.SetColor(ink)
		c.FillString(f, vg.Point{X: x, Y: y}, s)
	})
}

// textRight sets s with its baseline's right end at (x, y).
func (p *Page) textRight(f font.Face, ink color.Color, x, y vg.Length, s string) {
	p.text(f, ink, x-lettering.Width(f, s), y, s)
}

// rule draws a straight line.
func (p *Page) rule(ink color.Color, width vg.Length, from, to vg.Point) {
	p.mark(func(c vg.Canvas) {
		c.SetColor(ink)
		c.SetLineWidth(width)
		c.SetLineDash(nil, 0)
		c.Stroke(polygon(from, to))
	})
}

// hairline draws a thin line from left to right.
func (p *Page) hairline(x, y, width vg.Length) {
	p.rule(figure.Hair, 0.4, vg.Point{X: x, Y: y}, vg.Point{X: x + width, Y: y})
}

// fill fills a path.
func (p *Page) fill(ink color.Color, path vg.Path) {
	p.mark(func(c vg.Canvas) {
		c.SetColor(ink)
		c.Fill(path)
	})
}

// outline strokes a path.
func (p *Page) outline(ink color.Color, width vg.Length, dash []vg.Length, path vg.Path) {
	p.mark(func(c vg.Canvas) {
		c.SetColor(ink)
		c.SetLineWidth(width)
		c.SetLineDash(dash, 0)
		c.Stroke(path)
		c.SetLineDash(nil, 0)
	})
}

// polygon is an open path through points.
func polygon(points ...vg.Point) vg.Path {
	var path vg.Path
	for i, pt := range points {
		if i == 0 {
			path.Move(pt)
		} else {
			path.Line(pt)
		}
	}
	return path
}

// box is a rectangle's closed path, given by its upper left corner. It begins
// in the middle of a side, so that every corner is joined.
func box(at vg.Point, width, height vg.Length) vg.Path {
	left, right, top, bottom := at.X, at.X+width, at.Y, at.Y-height
	path := polygon(
		vg.Point{X: left + width/2, Y: bottom},
		vg.Point{X: right, Y: bottom}, vg.Point{X: right, Y: top},
		vg.Point{X: left, Y: top}, vg.Point{X: left, Y: bottom},
	)
	path.Close()
	return path
}
