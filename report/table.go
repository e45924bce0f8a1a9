package report

import (
	"cmp"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// column is a column of a table.
type column struct {
	title string
	kind  columnKind
	// weight is the share of a column of words.
	weight float64
	// small sets the column's cells in the smallest type.
	small bool
}

// columnKind says how wide a column is and where its cells stand.
type columnKind uint8

const (
	// words share by weight what the others leave, and are wrapped.
	words columnKind = iota
	// tight columns are as wide as their widest cell, which stands left.
	tight
	// numbers are as wide as they need, with their decimal points under each
	// other.
	numbers
	// rights are as wide as they need, and end under the end of their title.
	rights
)

// row is a row of a table: one text a column.
type row struct {
	cells []string
	bold  bool
	// ruled draws a hairline above the row.
	ruled bool
	// most is how many lines a cell of words may have; 0 means cellLines.
	most int
}

const (
	cellGap   = vg.Length(7)
	rowLead   = vg.Length(9)
	rowPad    = vg.Length(1.7)
	rulePad   = vg.Length(2) // above and below a hairline between rows
	cellLines = 3
)

// grid is a table being laid out.
type grid struct {
	c       *setter
	columns []column
	lefts   []vg.Length
	widths  []vg.Length
	// points is where each column of numbers has its decimal point.
	points []vg.Length
}

// table lays out a table of the given width under its title.
func (c *setter) table(title string, columns []column, rows []row, width vg.Length) block {
	g := grid{c: c, columns: columns}
	g.measure(rows, width)
	b := block{head: []piece{c.title(title, width), g.headRow(width)}}
	for _, r := range rows {
		b.body = append(b.body, g.row(r, width))
	}
	return b
}

func (col column) face(bold bool) font.Face {
	size := sizeText
	if col.small {
		size = sizeTiny
	}
	if bold {
		return lettering.Bold(size)
	}
	return lettering.Regular(size)
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
		if col.kind == words {
			weights += col.weight
			continue
		}
		before, after := widest(rows, i, col)
		g.widths[i] = max(before+after, g.longestWord(col.title))
		g.points[i] = g.widths[i] - after
		left -= g.widths[i]
	}
	gap := vg.Length(cellGap)
	if weights == 0 && n > 1 { // figures alone: they share what is left
		gap += max(0, left) / vg.Length(n-1)
	}
	var x vg.Length
	for i, col := range g.columns {
		if col.kind == words {
			g.widths[i] = max(left, 0) * vg.Length(col.weight/weights)
		}
		g.lefts[i] = x
		x += g.widths[i] + gap
	}
}

// widest returns the room that a column's cells need before their decimal
// points and from there on.
func widest(rows []row, i int, col column) (before, after vg.Length) {
	for _, r := range rows {
		whole, rest := r.cells[i], ""
		if col.kind == numbers {
			whole, rest = point(whole)
		}
		before = max(before, lettering.Width(col.face(r.bold), whole))
		after = max(after, lettering.Width(col.face(r.bold), rest))
	}
	return before, after
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
		titles[i] = g.c.wrap(face, col.title, g.widths[i], 3)
		most = max(most, len(titles[i]))
	}
	height := vg.Length(most)*lead + 3
	return piece{height: height + 1.5, draw: func(p *Page, at vg.Point) {
		for i, lines := range titles {
			for k, line := range lines {
				y := at.Y - height + 4 + vg.Length(len(lines)-1-k)*lead
				if k := g.columns[i].kind; k == numbers || k == rights {
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
	lines, most := make([][]string, len(r.cells)), 1
	allowed := cmp.Or(r.most, cellLines)
	for i, text := range r.cells {
		if g.columns[i].kind != words {
			lines[i] = []string{text} // its column is as wide as it
			continue
		}
		lines[i] = g.c.wrap(g.columns[i].face(r.bold), text, g.widths[i], allowed)
		most = max(most, len(lines[i]))
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
	}}
}

func (g *grid) cell(p *Page, r row, i int, lines []string, at vg.Point) {
	face := g.columns[i].face(r.bold)
	for k, line := range lines {
		x, y := at.X+g.lefts[i], at.Y-vg.Length(k)*rowLead
		if g.columns[i].kind == rights {
			x += g.widths[i] - lettering.Width(face, line)
		}
		if g.columns[i].kind == numbers {
			whole, rest := point(line)
			x += g.points[i] - lettering.Width(face, whole)
			p.text(face, figure.Ink, x, y, whole+rest)
			continue
		}
		p.text(face, figure.Ink, x, y, line)
	}
}
