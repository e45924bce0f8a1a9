package figure

import (
	"gonum.org/v1/plot/vg"

	"holdbench/report/lettering"
)

const (
	sampleWidth = vg.Length(17)
	sampleGap   = vg.Length(3.5)
	legendGap   = vg.Length(10)
	legendRow   = vg.Length(10)
)

// entry is a line's place in a legend.
type entry struct {
	line Line
	name string
	x    vg.Length
	row  int
}

// entries places the lines' names from left to right; a name that is used
// twice is shown once, one that does not fit is shortened.
func entries(lines []Line, width vg.Length) (placed []entry, rows int) {
	face := lettering.Regular(labelSize)
	seen := map[string]bool{"": true}
	x := vg.Length(0)
	for _, l := range lines {
		if seen[l.Name] {
			continue
		}
		seen[l.Name] = true
		name := lettering.Shorten(face, l.Name, width-sampleWidth-sampleGap)
		w := sampleWidth + sampleGap + lettering.Width(face, name)
		if x > 0 && x+w > width {
			x, rows = 0, rows+1
		}
		placed = append(placed, entry{line: l, name: name, x: x, row: rows})
		x += w + legendGap
	}
	if len(placed) == 0 {
		return nil, 0
	}
	return placed, rows + 1
}

// LegendHeight returns the height of the legend of these lines in the given
// width.
func LegendHeight(lines []Line, width vg.Length) vg.Length {
	_, rows := entries(lines, width)
	return vg.Length(rows) * legendRow
}

// Legend draws the names of the lines, each behind a sample of its style, in
// rows from left to right below the top of r.
func Legend(c vg.Canvas, r vg.Rectangle, lines []Line) {
	face := lettering.Regular(labelSize)
	placed, _ := entries(lines, r.Size().X)
	for _, e := range placed {
		x, y := r.Min.X+e.x, r.Max.Y-vg.Length(e.row)*legendRow-labelSize*lettering.Ascent
		sample(c, e.line.Style, x, y+labelSize*lettering.CapHeight/2)
		c.SetColor(Ink)
		c.FillString(face, vg.Point{X: x + sampleWidth + sampleGap, Y: y}, e.name)
	}
}

func sample(c vg.Canvas, s Style, x, y vg.Length) {
	c.SetColor(s.Color)
	c.SetLineWidth(max(s.Width, 0.8))
	c.SetLineDash(s.Dash, 0)
	var path vg.Path
	path.Move(vg.Point{X: x, Y: y})
	path.Line(vg.Point{X: x + sampleWidth, Y: y})
	c.Stroke(path)
	c.SetLineDash(nil, 0)
}
