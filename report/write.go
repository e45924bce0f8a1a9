package report

import (
	"fmt"
	"io"

	"holdbench/report/result"
)

// MetaOf returns what a result's document says of itself. Its date is that of
// the assessment, else of the recording's end.
func MetaOf(r *result.Result) Meta {
	created := r.Assessment.At
	if created.IsZero() {
		created = r.Ended
	}
	return Meta{
		Title:    "Hold test " + r.SerialNumber + ": " + r.Verdict,
		Author:   r.Operator,
		Subject:  r.Model + ", " + r.Procedure.Name,
		Keywords: r.RunID + " " + r.Procedure.Hash,
		Creator:  program(r.Assessment.Program),
		Created:  created,
	}
}

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
	c := newRasterCanvas(PageWidth, PageHeight, DPI)
	page.Draw(c)
	if err := writePNG(w, c.Image()); err != nil {
		return fmt.Errorf("write PNG: %w", err)
	}
	return nil
}
