package report

import (
	"bufio"
	"fmt"
	"io"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgsvg"

	"holdbench/report/lettering"
)

// svgCanvas draws outlines; text too, so that it needs no typeface where it is
// looked at.
type svgCanvas struct{ *vgsvg.Canvas }

// FillString sets text as package lettering measures it.
func (c svgCanvas) FillString(f font.Face, pt vg.Point, text string) {
	if f.Font.Size <= 0 {
		return
	}
	for _, run := range lettering.Runs(f, text) {
		c.Fill(lettering.Outline(f, vg.Point{X: pt.X + run.X, Y: pt.Y}, run.Text))
	}
}

// WriteSVG draws one page as a scalable picture. Errors come from w.
func WriteSVG(w io.Writer, page Page) error {
	paper := page.Paper()
	c := svgCanvas{vgsvg.NewWith(vgsvg.UseWH(paper.Width, paper.Height))}
	page.Draw(c)
	b := bufio.NewWriter(w)
	if _, err := c.WriteTo(b); err != nil {
		return fmt.Errorf("write SVG: %w", err)
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("write SVG: %w", err)
	}
	return nil
}
