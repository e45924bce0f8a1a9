package report

import (
	"slices"

	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
)

const (
	factColumns = 4
	factGap     = 4.5 * mm
	// notStated stands where something that every page names is unknown.
	notStated = "not stated"
	// whatTested is what every page of a unit is about.
	whatTested = "Hold test"
)

// begin draws the head of a summary page and returns where its content begins.
func (c *composer) begin(p *Page, number int) vg.Length {
	if number > 1 {
		return c.nextHead(p, "")
	}
	y := c.top(p, whatTested, c.f.Result.Note)
	width := c.textWidth
	codeBottom := y
	if code, ok := codeOf(codeText(c.f.Result.RunID, c.f.ResultHash)); ok {
		width -= codeWidth + factGap
		codeBottom = c.code(p, code, vg.Point{X: c.right() - codeWidth, Y: y - 4*mm})
	}
	y = c.serial(p, y-4*mm, width)
	return min(c.facts(p, y-3.5*mm, width), codeBottom)
}

// nextHead is the head of a page that is not the first: it names the unit and
// its verdict, and beneath them the page where it has a title.
func (c *composer) nextHead(p *Page, title string) vg.Length {
	y := c.top(p, whatTested, c.f.Result.Note) - 4*mm
	face, bold := lettering.Regular(sizeText), lettering.Bold(sizeText)
	word := c.verdict()
	c.badge(p, vg.Point{X: c.right() - badgeWidth(word), Y: y + sizeText*lettering.CapHeight/2}, word)
	serial := "Serial number " + c.serialNumber()
	if title == "" {
		serial += ", continued"
	}
	p.text(face, figure.Ink, marginSide, y, c.short(face, serial, c.textWidth-lettering.Width(bold, word)-40))
	y -= 2 * mm
	p.hairline(marginSide, y, c.textWidth)
	if title == "" {
		return y - 5*mm
	}
	large := lettering.Bold(sizePage)
	y -= 4 * mm
	p.text(large, figure.Ink, marginSide, y-sizePage*lettering.CapHeight, c.short(large, title, c.textWidth))
	return y - sizePage - 3.5*mm
}

// titled is how the pages of one title begin; the first is entered in the
// outline.
func (c *composer) titled(title string) func(p *Page, number int) vg.Length {
	return func(p *Page, number int) vg.Length {
		if number > 1 {
			return c.nextHead(p, title+", continued")
		}
		p.bookmark(title, 0)
		return c.nextHead(p, title)
	}
}

func (c *composer) serialNumber() string {
	if s := c.f.Result.SerialNumber; s != "" {
		return s
	}
	return notStated
}

// serial sets the serial number as large as it fits, on several small lines
// where it is very long, and returns the height below it.
func (c *composer) serial(p *Page, y, width vg.Length) vg.Length {
	label := lettering.Regular(sizeTiny)
	p.text(label, figure.Soft, marginSide, y-sizeTiny*lettering.CapHeight, "serial number")
	y -= sizeTiny + 1
	text := c.settable(c.serialNumber())
	for _, size := range []vg.Length{22, 18, 15, 12} {
		if face := lettering.Bold(size); lettering.Width(face, text) <= width {
			p.text(face, figure.Ink, marginSide, y-size*lettering.Ascent, text)
			return y - size*1.05
		}
	}
	face := lettering.Bold(10)
	for _, line := range c.wrap(face, text, width, 4) {
		p.text(face, figure.Ink, marginSide, y-10*lettering.Ascent, line)
		y -= 12.5
	}
	return y
}

// fact is a label and what stands under it.
type fact struct{ label, value, small string }

// facts draws who and what in columns and returns the height below them; what
// is not known has no label.
func (c *composer) facts(p *Page, y, width vg.Length) vg.Length {
	r := c.f.Result
	model := r.Model
	if model == "" {
		model = notStated
	}
	all := known([]fact{
		{"model", model, ""},
		{"fluid", r.Fluid, ""},
		{"procedure", r.Procedure.Name, shortHash(r.Procedure.Hash)},
		{"bench", r.Bench.Name, shortHash(r.Bench.Hash)},
		{"operator", r.Operator, ""},
		{"started", instant(r.Started), ""},
		{"position", r.Position, ""},
		c.assessed(),
	})
	return c.factRows(p, all, y, width)
}

// known returns the facts that have a value.
func known(all []fact) (some []fact) {
	for _, f := range all {
		if f.value != "" {
			some = append(some, f)
		}
	}
	return some
}

func (c *composer) assessed() fact {
	a := c.f.Result.Assessment
	return fact{"assessment no. " + number(float64(a.Number), 0), minute(a.At), ""}
}

// factRows draws facts in columns and returns the height below them.
func (c *setter) factRows(p *Page, all []fact, y, width vg.Length) vg.Length {
	widths := c.factWidths(all, width)
	for len(all) > 0 {
		n := min(factColumns, len(all))
		y = c.factRow(p, all[:n], y, widths) - 2.2*mm
		all = all[n:]
	}
	return y + 2.2*mm
}

// factWidths are the columns' widths: as wide as what stands in them where
// there is room, else the wide ones give way.
func (c *setter) factWidths(all []fact, width vg.Length) (widths [factColumns]vg.Length) {
	width -= (factColumns - 1) * factGap
	for i, f := range all {
		w := max(lettering.Width(lettering.Regular(sizeText), c.settable(f.value)),
			lettering.Width(lettering.Regular(sizeTiny), f.label), lettering.Width(lettering.Regular(sizeTiny), f.small))
		widths[i%factColumns] = max(widths[i%factColumns], w+0.1)
	}
	free := width - sum(widths[:])
	if free >= 0 {
		for i := range widths {
			widths[i] += free / factColumns
		}
		return widths
	}
	most := levelled(widths[:], width)
	for i := range widths {
		widths[i] = min(widths[i], most)
	}
	return widths
}

// levelled returns the width to which the widest have to be cut so that all
// together have no more than the total.
func levelled(widths []vg.Length, total vg.Length) vg.Length {
	sorted := slices.Sorted(slices.Values(widths))
	for i, w := range sorted {
		if share := total / vg.Length(len(sorted)-i); w >= share {
			return share
		}
		total -= w
	}
	return sorted[len(sorted)-1]
}

func (c *setter) factRow(p *Page, facts []fact, y vg.Length, widths [factColumns]vg.Length) vg.Length {
	label, value := lettering.Regular(sizeTiny), lettering.Regular(sizeText)
	bottom, x := y, vg.Length(marginSide)
	for i, f := range facts {
		at := y - sizeTiny*lettering.CapHeight
		p.text(label, figure.Soft, x, at, f.label)
		for _, line := range c.wrap(value, f.value, widths[i], 2) {
			at -= sizeText + 1.8
			p.text(value, figure.Ink, x, at, line)
		}
		if f.small != "" {
			at -= sizeTiny + 1.6
			p.text(label, figure.Soft, x, at, c.short(label, f.small, widths[i]))
		}
		bottom = min(bottom, at-2)
		x += widths[i] + factGap
	}
	return bottom
}
