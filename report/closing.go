package report

import (
	"sort"
	"strings"

	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
	"holdbench/report/result"
)

func orNone(s string) string {
	if s == "" {
		return none
	}
	return s
}

// cautionsWidth is the width of the cautions; the signature has the rest.
func (c *composer) cautionsWidth() vg.Length { return 0.6 * c.textWidth }

func (c *composer) signatureLeft() vg.Length { return c.cautionsWidth() + gutter }

// isVented reports whether venting was measured and confirmed.
func (c *composer) isVented() bool { return c.f.Result.Vented.State == "vented" }

// pressurised is the warning that stands right under the verdict while a unit
// is not proven vented.
func (c *composer) pressurised() block {
	if c.isVented() {
		return block{}
	}
	words := "TREAT AS PRESSURISED: not proven vented."
	if c.f.Result.Vented.State == "overridden" {
		words = "TREAT AS PRESSURISED: not proven vented, the vent watch was overridden."
	}
	return block{body: []piece{c.framed(words+c.ventReason(), c.textWidth, 2)}}
}

func (c *composer) ventReason() string {
	if r := c.f.Result.Vented.Reason; r != "" {
		return " " + fullSentence(r)
	}
	return ""
}

// ventedWords says how venting was proven.
func (c *composer) ventedWords() string {
	if r := c.f.Result.Vented.Reason; r != "" {
		return fullSentence("vented: " + r)
	}
	return "Vented: measured and confirmed."
}

// framed is bold text in a frame whose line has the given width.
func (c *composer) framed(words string, width, line vg.Length) piece {
	const inset = vg.Length(6)
	face := lettering.Bold(sizeText)
	lines := c.wrap(face, words, width-2*inset, 6)
	height := vg.Length(len(lines))*leading + 2*inset - 3
	return piece{height: height, draw: func(p *Page, at vg.Point) {
		p.outline(figure.Ink, line, nil, box(vg.Point{X: at.X + line/2, Y: at.Y - line/2}, width-line, height-line))
		for i, text := range lines {
			p.text(face, figure.Ink, at.X+inset, at.Y-inset-sizeText*0.75-vg.Length(i)*leading, text)
		}
	}}
}

// ventState is the vent state, whatever it is, in a frame over the whole width.
func (c *composer) ventState() block {
	if c.isVented() {
		return block{body: []piece{c.framed(c.ventedWords(), c.textWidth, 0.7)}}
	}
	return c.pressurised()
}

// safety is the cautions beside room for a signature, under the vent state
// where it is proven and stands nowhere else.
func (c *composer) safety(withState bool) band {
	b := block{head: []piece{c.title("Trapped pressure and cautions", c.cautionsWidth())}}
	if withState && c.isVented() {
		b.body = append(b.body, c.framed(c.ventedWords(), c.cautionsWidth(), 0.7), space(4))
	}
	cautions := c.f.Cautions
	if len(cautions) == 0 {
		cautions = DefaultCautions
	}
	small := lettering.Regular(sizeTiny)
	for _, s := range cautions {
		b.body = append(b.body, c.paragraph(small, figure.Ink, 8.2, fullSentence(s), c.cautionsWidth())...)
		b.body = append(b.body, space(2))
	}
	return band{
		blocks: []block{b, c.signature()}, lefts: []vg.Length{0, c.signatureLeft()},
		above: between, signed: true,
	}
}

// signature is room for a name, a date and a signature.
func (c *composer) signature() block {
	signatureWidth := c.textWidth - c.signatureLeft()
	dateWidth := 0.36 * signatureWidth
	face := lettering.Regular(sizeTiny)
	field := func(p *Page, at vg.Point, width vg.Length, label string) {
		p.hairline(at.X, at.Y-20, width)
		p.text(face, figure.Soft, at.X, at.Y-20-sizeTiny-0.5, label)
	}
	line := func(draw func(p *Page, at vg.Point)) piece { return piece{height: 31, draw: draw} }
	return block{
		head: []piece{c.title("Reviewed and signed", signatureWidth)},
		body: []piece{
			line(func(p *Page, at vg.Point) {
				field(p, at, signatureWidth-dateWidth-8, "name")
				field(p, vg.Point{X: at.X + signatureWidth - dateWidth, Y: at.Y}, dateWidth, "date")
			}),
			line(func(p *Page, at vg.Point) { field(p, at, signatureWidth, "signature") }),
		},
	}
}

// origins says from which files and by which program the page came; procedure
// and bench stand in the heading.
func (c *composer) origins() block {
	r := c.f.Result
	var parts []string
	add := func(what string, s result.Source) {
		if s.Name != "" || s.Hash != "" {
			parts = append(parts, what+": "+orNone(s.Name)+" "+shortHash(s.Hash))
		}
	}
	add("characterisation", r.Characterisation)
	add("fluids", r.Fluids)
	files := make([]string, 0, len(r.Recording.Hashes))
	for name := range r.Recording.Hashes {
		files = append(files, name)
	}
	sort.Strings(files)
	for _, name := range files {
		parts = append(parts, name+" "+shortHash(r.Recording.Hashes[name]))
	}
	if c.f.ResultHash != "" {
		parts = append(parts, "result "+shortHash(c.f.ResultHash))
	}
	if state := r.Recording.State; state != "" && state != result.StateFile {
		recorded := "recording " + state
		if r.Recording.Program != "" {
			recorded += ", by " + program(r.Recording.Program)
		}
		parts = append(parts, recorded)
	}
	if len(parts) == 0 {
		return block{}
	}
	text := "Computed from (SHA-256, first 12 digits): " + strings.Join(parts, " · ")
	return c.aside(text)
}
