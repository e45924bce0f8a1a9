package report

import (
	"fmt"
	"io"
)

// WritePDF draws the pages into one document. The bytes depend on pages and
// meta alone. Errors come from w, or from the PDF library.
func WritePDF(w io.Writer, pages []Page, m Meta) error {
	c := newPDFCanvas(PageWidth, PageHeight, m)
	for _, p := range pages {
		c.NextPage()
		p.Draw(c)
	}
	_, err := c.WriteTo(w)
	return err
}

// WritePNG draws one page as a picture of DPI dots per inch. Errors come from
// w.
func WritePNG(w io.Writer, page Page) error {
	c := newRasterCanvas(PageWidth, PageHeight)
	page.Draw(c)
	if err := writePNG(w, c.Image()); err != nil {
		return fmt.Errorf("write PNG: %w", err)
	}
	return nil
}
