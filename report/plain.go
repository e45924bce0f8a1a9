package report

import (
	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// plainHead is the head of a page that is about no unit: what it is, and of
// what.
func (c *setter) plainHead(what, title, note string) func(p *Page, number int) vg.Length {
	return func(p *Page, number int) vg.Length {
		y := c.top(p, what, note) - 4*mm
		title := title
		if number > 1 {
			title += ", continued"
		} else {
			p.bookmark(title, 0)
		}
		large := lettering.Bold(sizePage)
		p.text(large, figure.Ink, marginSide, y-sizePage*lettering.CapHeight, c.short(large, title, c.textWidth))
		return y - sizePage - 3.5*mm
	}
}

// figurePiece is a figure under its title and legend, all in that height.
func (c *setter) figurePiece(title string, f figure.Figure, height vg.Length) piece {
	var lines []figure.Line
	for _, p := range f.Panels {
		lines = append(lines, p.Lines...)
	}
	head, legend := c.title(title, c.textWidth), c.legend(lines)
	return piece{height: height, draw: func(p *Page, at vg.Point) {
		bottom := at.Y - height
		head.draw(p, at)
		at.Y -= head.height + 1
		legend.draw(p, at)
		at.Y -= legend.height
		r := vg.Rectangle{Min: vg.Point{X: at.X, Y: bottom}, Max: vg.Point{X: at.X + c.textWidth, Y: at.Y}}
		p.mark(func(canvas vg.Canvas) { figure.Draw(canvas, r, f) })
	}}
}

// keyTable is a table of names and what they are.
func (c *setter) keyTable(title string, rows [][2]string) block {
	var all []row
	for _, r := range rows {
		all = append(all, row{cells: []string{r[0], r[1]}})
	}
	return c.table(title, []column{{title: "what", weight: 1}, {title: "figure", weight: 1.6}}, all, c.textWidth)
}
