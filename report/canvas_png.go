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
type rasterCanvas struct{ *vgimg.Canvas }

func newRasterCanvas(width, height vg.Length, dpi int) rasterCanvas {
	return rasterCanvas{vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(dpi))}
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
