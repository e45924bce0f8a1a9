package report

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"time"

	pdf "codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"holdbench/report/lettering"
)

// Meta is what a document says of itself.
type Meta struct {
	Title, Author, Subject, Keywords string
	// Creator is the program with its version.
	Creator string
	// Created is the instant written into the document; it is never taken
	// from the wall clock, so that the same input gives the same bytes.
	Created time.Time
}

// pdfCanvas is a vg canvas over a PDF document: vector paths and embedded
// fonts that keep their Unicode text.
type pdfCanvas struct {
	doc           *pdf.Fpdf
	width, height vg.Length
	stack         []pdfState
	pictures      int
}

// pdfState is what Push saves and Pop brings back.
type pdfState struct {
	color  color.Color
	alpha  float64
	width  vg.Length
	dashes []vg.Length
	offset vg.Length
}

var _ vg.CanvasSizer = (*pdfCanvas)(nil)

// newPDFCanvas begins a document. The first page comes with the first call of
// NextPage.
func newPDFCanvas(m Meta) *pdfCanvas {
	doc := pdf.NewCustom(&pdf.InitType{UnitStr: "pt", Size: pdf.SizeType{Wd: A4.Width.Points(), Ht: A4.Height.Points()}})
	doc.SetCatalogSort(true)
	doc.SetAutoPageBreak(false, 0)
	doc.SetMargins(0, 0, 0)
	doc.SetTitle(m.Title, true)
	doc.SetAuthor(m.Author, true)
	doc.SetSubject(m.Subject, true)
	doc.SetKeywords(m.Keywords, true)
	doc.SetCreator(m.Creator, true)
	doc.SetProducer(m.Creator, true)
	doc.SetLang("en")
	created := m.Created
	if created.IsZero() {
		created = time.Unix(0, 0) // a zero date would become the wall clock's
	}
	doc.SetCreationDate(created.UTC())
	doc.SetModificationDate(created.UTC())
	for _, f := range []font.Face{lettering.Regular(1), lettering.Bold(1)} {
		doc.AddUTF8FontFromBytes(lettering.Family, pdfStyle(f), lettering.TTF(f))
	}
	return &pdfCanvas{doc: doc}
}

func pdfStyle(f font.Face) string {
	if lettering.IsBold(f) {
		return "B"
	}
	return ""
}

// NextPage begins a page of p's paper with its entries in the outline; what
// follows is drawn on it.
func (c *pdfCanvas) NextPage(p Page) {
	if c.doc.PageNo() > 0 {
		c.doc.TransformEnd()
	}
	paper := p.Paper()
	c.width, c.height = paper.Width, paper.Height
	c.doc.AddPageFormat("P", pdf.SizeType{Wd: c.width.Points(), Ht: c.height.Points()})
	// fpdf writes an outline as Unicode while such a font is set
	c.doc.SetFont(lettering.Family, "", 1)
	for _, b := range p.bookmarks {
		c.doc.Bookmark(b.title, b.level, (c.height - b.y).Points())
	}
	c.doc.TransformBegin() // fpdf transforms only inside such a pair
	c.stack = []pdfState{{alpha: 1}}
	vg.Initialize(c)
}

// attach carries the files that have content.
func (c *pdfCanvas) attach(files []File) {
	var all []pdf.Attachment
	for _, f := range files {
		if f.Content != nil {
			all = append(all, pdf.Attachment{Content: f.Content, Filename: f.Name, Description: f.Description})
		}
	}
	c.doc.SetAttachments(all)
}

// WriteTo ends the document and writes it.
func (c *pdfCanvas) WriteTo(w io.Writer) (int64, error) {
	if c.doc.PageNo() > 0 {
		c.doc.TransformEnd()
	}
	var b bytes.Buffer
	if err := c.doc.Output(&b); err != nil {
		return 0, fmt.Errorf("write PDF: %w", err)
	}
	return b.WriteTo(w)
}

// Size returns the page's width and height.
func (c *pdfCanvas) Size() (x, y vg.Length) { return c.width, c.height }

func (c *pdfCanvas) state() *pdfState { return &c.stack[len(c.stack)-1] }

// SetLineWidth sets the width of strokes.
func (c *pdfCanvas) SetLineWidth(w vg.Length) {
	c.state().width = w
	c.doc.SetLineWidth(w.Points())
}

// SetLineDash sets the pattern of strokes; none is a full line.
func (c *pdfCanvas) SetLineDash(pattern []vg.Length, offset vg.Length) {
	c.state().dashes, c.state().offset = pattern, offset
	dashes := make([]float64, len(pattern))
	for i, d := range pattern {
		dashes[i] = d.Points()
	}
	c.doc.SetDashPattern(dashes, offset.Points())
}

// SetColor sets the colour of strokes, fills and text; nil is black.
func (c *pdfCanvas) SetColor(ink color.Color) {
	if ink == nil {
		ink = color.Black
	}
	c.state().color = ink
	n := color.NRGBAModel.Convert(ink).(color.NRGBA)
	r, g, b := int(n.R), int(n.G), int(n.B)
	c.doc.SetDrawColor(r, g, b)
	c.doc.SetFillColor(r, g, b)
	c.doc.SetTextColor(r, g, b)
	if alpha := float64(n.A) / 255; alpha != c.state().alpha {
		c.state().alpha = alpha
		c.doc.SetAlpha(alpha, "Normal")
	}
}

// Rotate, Translate and Scale change the transform as vg says.
func (c *pdfCanvas) Rotate(rad float64) {
	sin, cos := math.Sincos(rad)
	c.doc.Transform(pdf.TransformMatrix{A: cos, B: sin, C: -sin, D: cos})
}

// Translate moves the origin.
func (c *pdfCanvas) Translate(pt vg.Point) {
	c.doc.Transform(pdf.TransformMatrix{A: 1, D: 1, E: pt.X.Points(), F: pt.Y.Points()})
}

// Scale stretches the axes.
func (c *pdfCanvas) Scale(x, y float64) { c.doc.Transform(pdf.TransformMatrix{A: x, D: y}) }

// Push saves line, colour and transform.
func (c *pdfCanvas) Push() {
	c.stack = append(c.stack, *c.state())
	c.doc.TransformBegin()
}

// Pop restores what the matching Push saved.
func (c *pdfCanvas) Pop() {
	c.doc.TransformEnd()
	c.stack = c.stack[:len(c.stack)-1]
	s := *c.state()
	c.SetColor(s.color)
	c.SetLineWidth(s.width)
	c.SetLineDash(s.dashes, s.offset)
}

// Stroke draws a path's line.
func (c *pdfCanvas) Stroke(p vg.Path) {
	if c.state().width > 0 && len(p) > 0 {
		c.path(p)
		c.doc.DrawPath("D")
	}
}

// Fill fills a path by the non-zero rule.
func (c *pdfCanvas) Fill(p vg.Path) {
	if len(p) > 0 {
		c.path(p)
		c.doc.DrawPath("F")
	}
}

// flip turns a vg ordinate, which points up, into fpdf's.
func (c *pdfCanvas) flip(pt vg.Point) (x, y float64) {
	return pt.X.Points(), (c.height - pt.Y).Points()
}

func (c *pdfCanvas) path(p vg.Path) {
	for i, comp := range p {
		x, y := c.flip(comp.Pos)
		switch comp.Type {
		case vg.MoveComp:
			c.doc.MoveTo(x, y)
		case vg.LineComp:
			c.doc.LineTo(x, y)
		case vg.ArcComp:
			c.arc(comp, i == 0)
		case vg.CurveComp:
			c.curve(comp)
		case vg.CloseComp:
			c.doc.ClosePath()
		}
	}
}

func (c *pdfCanvas) curve(comp vg.PathComp) {
	x, y := c.flip(comp.Pos)
	ax, ay := c.flip(comp.Control[0])
	if len(comp.Control) == 1 {
		here, there := c.doc.GetX, c.doc.GetY
		c.doc.CurveBezierCubicTo((here()+2*ax)/3, (there()+2*ay)/3, (x+2*ax)/3, (y+2*ay)/3, x, y)
		return
	}
	bx, by := c.flip(comp.Control[1])
	c.doc.CurveBezierCubicTo(ax, ay, bx, by, x, y)
}

// onGrid rounds to the hundredths with which fpdf writes the ends of straight
// lines; curves have more digits, and a joint that does not meet grows a spur.
func onGrid(pt vg.Point) vg.Point {
	return vg.Point{X: vg.Length(math.Round(float64(pt.X)*100) / 100), Y: vg.Length(math.Round(float64(pt.Y)*100) / 100)}
}

// arc draws a circle's arc as cubic curves of at most a quarter turn each.
func (c *pdfCanvas) arc(comp vg.PathComp, first bool) {
	parts := max(1, int(math.Ceil(math.Abs(comp.Angle)/(math.Pi/2))))
	step := comp.Angle / float64(parts)
	reach := comp.Radius * vg.Length(4.0/3*math.Tan(step/4))
	on := func(a float64) (vg.Point, vg.Point) { // point and unit tangent
		sin, cos := math.Sincos(a)
		return onGrid(vg.Point{X: comp.Pos.X + comp.Radius*vg.Length(cos), Y: comp.Pos.Y + comp.Radius*vg.Length(sin)}),
			vg.Point{X: vg.Length(-sin), Y: vg.Length(cos)}
	}
	from, tangent := on(comp.Start)
	x, y := c.flip(from)
	switch {
	case first:
		c.doc.MoveTo(x, y)
	case math.Hypot(x-c.doc.GetX(), y-c.doc.GetY()) > 0.01: // a line of no length has a joint of its own
		c.doc.LineTo(x, y)
	}
	for i := 1; i <= parts; i++ {
		to, next := on(comp.Start + float64(i)*step)
		ax, ay := c.flip(from.Add(tangent.Scale(reach)))
		bx, by := c.flip(to.Sub(next.Scale(reach)))
		x, y := c.flip(to)
		c.doc.CurveBezierCubicTo(ax, ay, bx, by, x, y)
		from, tangent = to, next
	}
}

// FillString sets text with the left end of its baseline at pt.
func (c *pdfCanvas) FillString(f font.Face, pt vg.Point, text string) {
	if f.Font.Size == 0 {
		return
	}
	c.doc.SetFont(lettering.Family, pdfStyle(f), f.Font.Size.Points())
	x, y := c.flip(pt)
	for _, run := range lettering.Runs(f, text) {
		c.doc.Text(x+run.X.Points(), y, run.Text)
	}
}

// DrawImage draws a picture into the rectangle.
func (c *pdfCanvas) DrawImage(r vg.Rectangle, picture image.Image) {
	var b bytes.Buffer
	if err := png.Encode(&b, picture); err != nil {
		c.doc.SetError(fmt.Errorf("encode picture: %w", err))
		return
	}
	c.pictures++
	name, options := fmt.Sprintf("picture-%d", c.pictures), pdf.ImageOptions{ImageType: "png"}
	c.doc.RegisterImageOptionsReader(name, options, &b)
	x, y := c.flip(vg.Point{X: r.Min.X, Y: r.Max.Y})
	size := r.Size()
	c.doc.ImageOptions(name, x, y, size.X.Points(), size.Y.Points(), false, options, 0, "")
}
