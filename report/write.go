package report

import (
	"fmt"
	"io"
	"strings"

	"holdbench/report/result"
)

// Document is pages with what is said of them and the files that it carries.
type Document struct {
	Meta  Meta
	Pages []Page
	// Files are attached to the document where they have content; the others
	// are left out.
	Files []File
}

// DocumentOf is the whole set of a unit's pages (ComposeSet), with the files
// as far as they are small enough to be carried (Carried).
func DocumentOf(f Facts) Document {
	return Document{Meta: MetaOf(f.Result), Pages: ComposeSet(f), Files: Carried(f.Files)}
}

// MetaOf returns what a result's document says of itself. Its date is that of
// the assessment, else of the recording's end.
func MetaOf(r *result.Result) Meta {
	created := r.Assessment.At
	if created.IsZero() {
		created = r.Ended
	}
	serial := r.SerialNumber
	if serial == "" {
		serial = "of a unit without serial number"
	}
	word := r.Verdict
	if r.Challenge != nil {
		word = challengeWord(r.Challenge.Outcome)
	}
	return Meta{
		Title:    whatTested + " " + serial + ": " + word,
		Author:   r.Operator,
		Subject:  joined(", ", r.Model, r.Procedure.Name),
		Keywords: joined(" ", r.RunID, r.Procedure.Hash),
		Creator:  program(r.Assessment.Program),
		Created:  created,
	}
}

// joined puts a separator between the texts that are not empty.
func joined(separator string, texts ...string) string {
	var some []string
	for _, s := range texts {
		if s != "" {
			some = append(some, s)
		}
	}
	return strings.Join(some, separator)
}

// WritePDF draws the pages into one document, each on its own paper, with an
// outline and the files attached. The bytes depend on the document alone.
// Errors come from w, or from the PDF library.
func (d Document) WritePDF(w io.Writer) error {
	c := newPDFCanvas(d.Meta)
	for _, p := range d.Pages {
		c.NextPage(p)
		p.Draw(c)
	}
	c.attach(d.Files)
	_, err := c.WriteTo(w)
	return err
}

// WritePDF draws the pages into one document that carries no files; see
// Document.
func WritePDF(w io.Writer, pages []Page, m Meta) error {
	return Document{Meta: m, Pages: pages}.WritePDF(w)
}

// WritePNG draws one page as a picture of DPI dots per inch. Errors come from
// w.
func WritePNG(w io.Writer, page Page) error {
	paper := page.Paper()
	c := newRasterCanvas(paper.Width, paper.Height, DPI)
	page.Draw(c)
	if err := writePNG(w, c.Image()); err != nil {
		return fmt.Errorf("write PNG: %w", err)
	}
	return nil
}
