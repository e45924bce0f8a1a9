package report

import (
	"sort"
	"strings"

	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// instruments is the table of what measured, with its calibration.
func (c *composer) instruments() block {
	columns := []column{
		{title: "channel", weight: 1.9},
		{title: "instrument", weight: 1.9},
		{title: "measures", weight: 1.7},
		{title: "range", weight: 1.8},
		{title: "certificate", weight: 1.7},
		{title: "calibrated", weight: 1.3},
		{title: "due", weight: 1.9},
	}
	var rows []row
	for _, i := range c.f.Result.Instruments {
		measures := i.Role
		if i.Circuit != "" {
			measures = strings.TrimSpace(measures + ", circuit " + i.Circuit)
		}
		due := orNone(i.Due)
		if i.Overdue {
			due += " OVERDUE"
		}
		rows = append(rows, row{bold: i.Overdue, cells: []string{
			i.Channel, i.Instrument, orNone(measures), orNone(i.Range), orNone(i.Certificate), orNone(i.Calibrated), due,
		}})
	}
	return c.table("Instruments", columns, rows, textWidth)
}

func orNone(s string) string {
	if s == "" {
		return none
	}
	return s
}

// safety is the vent state, framed, over the cautions.
func (c *composer) safety() block {
	v := c.f.Result.Vented
	var words string
	vented := v.State == "vented"
	switch v.State {
	case "vented":
		words = "Vented: measured and confirmed."
	case "overridden":
		words = "NOT PROVEN VENTED, overridden: TREAT AS PRESSURISED."
	default:
		words = "TREAT AS PRESSURISED."
	}
	if v.Reason != "" {
		words += " " + fullSentence(v.Reason)
	}
	face := lettering.Bold(sizeText)
	const inset = vg.Length(6)
	lines := c.wrap(face, words, halfWidth-2*inset, 6)
	height := vg.Length(len(lines))*leading + 2*inset - 2
	state := piece{height: height + 5, draw: func(p *Page, at vg.Point) {
		width := vg.Length(0.7)
		if !vented {
			width = 2
		}
		p.outline(figure.Ink, width, nil, box(at, halfWidth, height))
		for i, line := range lines {
			p.text(face, figure.Ink, at.X+inset, at.Y-inset-sizeText*0.8-vg.Length(i)*leading, line)
		}
	}}
	b := block{head: []piece{c.title("Trapped pressure and cautions", halfWidth)}, body: []piece{state}}
	cautions := c.f.Cautions
	if len(cautions) == 0 {
		cautions = DefaultCautions
	}
	small := lettering.Regular(7)
	for _, s := range cautions {
		b.body = append(b.body, c.paragraph(small, figure.Ink, 9, fullSentence(s), halfWidth)...)
		b.body = append(b.body, space(2))
	}
	return b
}

// signature is room for a name, a signature and a date.
func (c *composer) signature() block {
	line := func(label string) piece {
		return piece{height: 34, draw: func(p *Page, at vg.Point) {
			p.hairline(at.X, at.Y-24, halfWidth)
			p.text(lettering.Regular(sizeTiny), figure.Soft, at.X, at.Y-24-sizeTiny-1, label)
		}}
	}
	return block{
		head: []piece{c.title("Released by", halfWidth)},
		body: []piece{line("name"), line("signature"), line("date")},
	}
}

// origins says from which files and by which program the page came.
func (c *composer) origins() block {
	r := c.f.Result
	parts := []string{"procedure " + r.Procedure.Name + " " + shortHash(r.Procedure.Hash), "bench " + r.Bench.Name + " " + shortHash(r.Bench.Hash)}
	if r.Characterisation.Name != "" {
		parts = append(parts, "characterisation "+r.Characterisation.Name+" "+shortHash(r.Characterisation.Hash))
	}
	files := make([]string, 0, len(r.Recording.Hashes))
	for name := range r.Recording.Hashes {
		files = append(files, name)
	}
	sort.Strings(files)
	for _, name := range files {
		parts = append(parts, name+" "+shortHash(r.Recording.Hashes[name]))
	}
	recorded := "recording " + r.Recording.State
	if r.Recording.Program != "" {
		recorded += ", by holdbench " + r.Recording.Program
	}
	parts = append(parts, recorded)
	text := "Computed from (SHA-256, first 12 digits): " + strings.Join(parts, " · ")
	return block{body: c.paragraph(lettering.Regular(sizeTiny), figure.Soft, sizeTiny+2, text, textWidth)}
}
