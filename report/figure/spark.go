package figure

import (
	"gonum.org/v1/plot/vg"

	"holdbench/report/lettering"
)

// Spark draws a small plot into r: lines in a frame over the level of zero,
// without marks or labels, save a name of a few letters in its lower left
// corner. x and y are the axes that all sparks of a page share; what lies
// outside is cut off.
func Spark(c vg.Canvas, r vg.Rectangle, x, y Axis, lines []Line, name string) {
	p := pen{canvas: c, frame: r, time: x, y: y}
	c.SetLineDash(nil, 0)
	c.SetLineWidth(hairline)
	if y.Low < 0 && y.High > 0 {
		c.SetColor(Grid)
		p.stroke(vg.Point{X: r.Min.X, Y: p.atY(0)}, vg.Point{X: r.Max.X, Y: p.atY(0)})
	}
	for _, l := range lines {
		p.line(l)
	}
	c.SetColor(Hair)
	c.SetLineWidth(hairline)
	c.Stroke(rectangle(r.Min.X, r.Min.Y, r.Max.X, r.Max.Y))
	face := lettering.Regular(labelSize)
	p.text(face, Soft, r.Min.X+2, r.Min.Y+2, lettering.Shorten(face, name, r.Size().X/2))
}
