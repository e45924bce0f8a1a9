package report

import (
	"bufio"
	"image"
	"image/png"
	"io"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"

	"holdbench/report/lettering"
)

// DPI is the resolution of pictures, dots per inch.
const DPI = 200

// rasterCanvas draws pixels. Text is filled as outlines, so that it stands
// exactly where it stands in the PDF, turned text included.
type rasterCanvas struct {
	*vgimg.Canvas
	dashed *bool
}

func newRasterCanvas(width, height vg.Length, dpi int) rasterCanvas {
	return rasterCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(dpi)), dashed: new(bool)}
}

// SetLineDash sets the pattern of strokes.
func (c rasterCanvas) SetLineDash(pattern []vg.Length, offset vg.Length) {
	*c.dashed = len(pattern) > 0
	c.Canvas.SetLineDash(pattern, offset)
}

// strokedAtOnce is how many points of a long line are stroked at once; the
// rasteriser walks a row's cells one by one, and a noisy line of thousands of
// points has thousands of them in each row.
const strokedAtOnce = 24

// Stroke strokes a path; a long undashed line in short pieces that overlap by
// a step, so that their joins show no gap.
func (c rasterCanvas) Stroke(p vg.Path) {
	if *c.dashed || len(p) <= 2*strokedAtOnce || !polyline(p) {
		c.Canvas.Stroke(p)
		return
	}
	for from := 0; from+1 < len(p); from += strokedAtOnce {
		to := min(from+strokedAtOnce+2, len(p))
		var piece vg.Path
		piece.Move(p[from].Pos)
		for _, comp := range p[from+1 : to] {
			piece.Line(comp.Pos)
		}
		c.Canvas.Stroke(piece)
	}
}

// polyline says whether a path is one open line of straight steps.
func polyline(p vg.Path) bool {
	for i, comp := range p {
		if (i == 0) != (comp.Type == vg.MoveComp) || i > 0 && comp.Type != vg.LineComp {
			return false
		}
	}
	return true
}

// FillString sets text as package lettering measures it.
func (c rasterCanvas) FillString(f font.Face, pt vg.Point, text string) {
	if f.Font.Size <= 0 {
		return
	}
	// The rasteriser walks a row's cells one by one: many short paths are
	// several times faster than one long one.
	for _, run := range lettering.Runs(f, text) {
		at := vg.Point{X: pt.X + run.X, Y: pt.Y}
		for word := range strings.SplitAfterSeq(run.Text, " ") {
			c.Fill(lettering.Outline(f, at, word))
			at.X += lettering.Width(f, word)
		}
	}
}

// writePNG encodes the picture quickly rather than tightly.
func writePNG(w io.Writer, picture image.Image) error {
	b := bufio.NewWriterSize(w, 1<<16)
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := encoder.Encode(b, picture); err != nil {
		return err
	}
	return b.Flush()
}
