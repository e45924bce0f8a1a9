package report

import (
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// column is a column of a table. Numbers stand with their decimal points under
// each other and take the room they need; columns of words share what is left
// by weight and are wrapped.
type column struct {
	title  string
	number bool
	weight float64
}

// row is a row of a table: one text a column. A note, where there is one,
// stands instead of the cells from column 1 on.
type row struct {
	cells []string
	bold  bool
	note  string
	// ruled draws a hairline above the row.
	ruled bool
}

const (
	cellGap   = vg.Length(7)
	rowLead   = vg.Length(9)
	rowPad    = vg.Length(2)
	rulePad   = vg.Length(2) // above and below a hairline between rows
	cellLines = 3
)

// grid is a table being laid out.
type grid struct {
	c       *composer
	columns []column
	lefts   []vg.Length
	widths  []vg.Length
	// points is where each column of numbers has its decimal point.
	points []vg.Length
}

// table lays out a table of the given width under its title.
func (c *composer) table(title string, columns []column, rows []row, width vg.Length) block {
	g := grid{c: c, columns: columns}
	g.measure(rows, width)
	b := block{head: []piece{c.title(title, width), g.headRow(width)}}
	for _, r := range rows {
		b.body = append(b.body, g.row(r, width))
	}
	return b
}

func faceOf(bold bool) font.Face {
	if bold {
		return lettering.Bold(sizeText)
	}
	return lettering.Regular(sizeText)
}

// point parts a number at its decimal point.
func point(s string) (whole, rest string) {
	if i := strings.IndexByte(s, '.'); i >= 0 {
		return s[:i], s[i:]
	}
	return s, ""
}

func (g *grid) measure(rows []row, width vg.Length) {
	n := len(g.columns)
	g.widths, g.lefts, g.points = make([]vg.Length, n), make([]vg.Length, n), make([]vg.Length, n)
	left, weights := width-vg.Length(n-1)*cellGap, 0.0
	for i, col := range g.columns {
		if !col.number {
			weights += col.weight
			continue
		}
		var before, after vg.Length
		for _, r := range rows {
			if r.note != "" && i > 0 || i >= len(r.cells) {
				continue
			}
			whole, rest := point(r.cells[i])
			before = max(before, lettering.Width(faceOf(r.bold), whole))
			after = max(after, lettering.Width(faceOf(r.bold), rest))
		}
		g.widths[i] = max(before+after, g.longestWord(col.title))
		g.points[i] = g.widths[i] - after
		left -= g.widths[i]
	}
	var x vg.Length
	for i, col := range g.columns {
		if !col.number {
			g.widths[i] = max(left, 0) * vg.Length(col.weight/weights)
		}
		g.lefts[i] = x
		x += g.widths[i] + cellGap
	}
}

// longestWord is the width that a title needs at least.
func (g *grid) longestWord(title string) (w vg.Length) {
	for _, word := range strings.Split(title, " ") {
		w = max(w, lettering.Width(lettering.Regular(sizeTiny), word))
	}
	return w
}

// headRow holds the columns' titles over a hairline.
func (g *grid) headRow(width vg.Length) piece {
	face, lead := lettering.Regular(sizeTiny), sizeTiny+1
	titles, most := make([][]string, len(g.columns)), 1
	for i, col := range g.columns {
		titles[i] = g.c.wrap(face, col.title, g.widths[i], 2)
		most = max(most, len(titles[i]))
	}
	height := vg.Length(most)*lead + 3
	return piece{height: height + 1.5, draw: func(p *Page, at vg.Point) {
		for i, lines := range titles {
			for k, line := range lines {
				y := at.Y - height + 4 + vg.Length(len(lines)-1-k)*lead
				if g.columns[i].number {
					p.textRight(face, figure.Soft, at.X+g.lefts[i]+g.widths[i], y, line)
				} else {
					p.text(face, figure.Soft, at.X+g.lefts[i], y, line)
				}
			}
		}
		p.hairline(at.X, at.Y-height, width)
	}}
}

// row lays out one row.
func (g *grid) row(r row, width vg.Length) piece {
	cells := r.cells
	if r.note != "" {
		cells = cells[:1]
	}
	lines, most := make([][]string, len(cells)), 1
	for i, text := range cells {
		if g.columns[i].number {
			lines[i] = []string{text} // its column is as wide as it
			continue
		}
		lines[i] = g.c.wrap(faceOf(r.bold), text, g.widths[i], cellLines)
		most = max(most, len(lines[i]))
	}
	var note []string
	noteFace := lettering.Regular(sizeTiny + 0.5)
	if r.note != "" {
		note = g.c.wrap(noteFace, r.note, width-g.lefts[1], 4)
		most = max(most, len(note))
	}
	height := vg.Length(most)*rowLead + rowPad
	if r.ruled {
		height += rulePad
	}
	return piece{height: height, draw: func(p *Page, at vg.Point) {
		if r.ruled {
			p.hairline(at.X, at.Y-rulePad/2, width)
			at.Y -= rulePad
		}
		base := at.Y - rowLead - 0.2
		for i := range lines {
			g.cell(p, r, i, lines[i], vg.Point{X: at.X, Y: base})
		}
		for k, line := range note {
			p.text(noteFace, figure.Soft, at.X+g.lefts[1], base-vg.Length(k)*rowLead, line)
		}
	}}
}

func (g *grid) cell(p *Page, r row, i int, lines []string, at vg.Point) {
	face := faceOf(r.bold)
	for k, line := range lines {
		x, y := at.X+g.lefts[i], at.Y-vg.Length(k)*rowLead
		if g.columns[i].number {
			whole, rest := point(line)
			x += g.points[i] - lettering.Width(face, whole)
			p.text(face, figure.Ink, x, y, whole+rest)
			continue
		}
		p.text(face, figure.Ink, x, y, line)
	}
}
