package report

import (
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
	"holdbench/report/result"
)

// begin draws the head of a lot's page.
func (c *lotComposer) begin(p *Page, number int) vg.Length {
	y := c.top(p, "Lot summary", c.lot.Note) - 4*mm
	title := c.lot.Title
	if title == "" {
		title = notStated
	}
	if number > 1 {
		face := lettering.Regular(sizeText)
		p.text(face, figure.Ink, marginSide, y, c.short(face, "Lot "+title+", continued", c.textWidth))
		y -= 2 * mm
		p.hairline(marginSide, y, c.textWidth)
		return y - 5*mm
	}
	p.bookmark("Lot summary", 0)
	p.text(lettering.Regular(sizeTiny), figure.Soft, marginSide, y-sizeTiny*lettering.CapHeight, "lot")
	y -= sizeTiny + 1
	size := vg.Length(18)
	for _, line := range c.wrap(lettering.Bold(size), title, c.textWidth, 3) {
		p.text(lettering.Bold(size), figure.Ink, marginSide, y-size*lettering.Ascent, line)
		y -= size * 1.15
	}
	return c.factRows(p, known(c.facts()), y-3*mm, c.textWidth)
}

// facts are who and what, each kind once.
func (c *lotComposer) facts() []fact {
	distinct := func(of func(*result.Result) string) string {
		var all []string
		seen := map[string]bool{"": true}
		for _, r := range c.lot.Rows {
			if s := of(r.Result); !seen[s] {
				seen[s] = true
				all = append(all, s)
			}
		}
		if len(all) > 3 {
			return strings.Join(all[:2], "; ") + " and " + strconv.Itoa(len(all)-2) + " more"
		}
		return strings.Join(all, "; ")
	}
	return []fact{
		{"units", strconv.Itoa(len(c.lot.Rows)), ""},
		{"model", distinct(func(r *result.Result) string { return r.Model }), ""},
		{"procedure", distinct(func(r *result.Result) string { return r.Procedure.Name }), ""},
		{"fluid", distinct(func(r *result.Result) string { return r.Fluid }), ""},
		{"tested", c.when(func(r *result.Result) time.Time { return r.Started }), ""},
		{"assessed", c.when(func(r *result.Result) time.Time { return r.Assessment.At }), ""},
		{"bench", distinct(func(r *result.Result) string { return r.Bench.Name }), ""},
		{"operator", distinct(func(r *result.Result) string { return r.Operator }), ""},
	}
}

// when is the days from the first to the last.
func (c *lotComposer) when(of func(*result.Result) time.Time) string {
	var first, last time.Time
	for _, r := range c.lot.Rows {
		at := of(r.Result)
		if at.IsZero() {
			continue
		}
		if first.IsZero() || at.Before(first) {
			first = at
		}
		if at.After(last) {
			last = at
		}
	}
	const day = "2006-01-02"
	switch {
	case first.IsZero():
		return ""
	case first.Format(day) == last.Format(day):
		return first.Format(day)
	}
	return first.Format(day) + " to " + last.Format(day)
}

// counts are three boxes, told apart as the verdicts are.
func (c *lotComposer) counts() block {
	const (
		height = vg.Length(40)
		gap    = vg.Length(10)
		inset  = vg.Length(10)
		size   = vg.Length(24)
	)
	width := (c.textWidth - 2*gap) / 3
	return block{body: []piece{{height: height, draw: func(p *Page, at vg.Point) {
		for i, word := range verdictWords {
			l, n := lookOf(word), strconv.Itoa(c.lot.count(word))
			x := at.X + vg.Length(i)*(width+gap)
			p.fill(l.fill, box(vg.Point{X: x, Y: at.Y}, width, height))
			p.outline(l.frame, 1.4, nil, box(vg.Point{X: x + 0.7, Y: at.Y - 0.7}, width-1.4, height-1.4))
			middle := at.Y - height/2
			p.text(lettering.Bold(size), l.word, x+inset, middle-size*lettering.CapHeight/2, n)
			face := lettering.Bold(10)
			p.text(face, l.word, x+inset+lettering.Width(lettering.Bold(size), n)+8, middle-10*lettering.CapHeight/2, word)
			l.sign(p, vg.Point{X: x + width - inset - 9, Y: middle}, l.word, 0.55)
		}
	}}}}
}

// caption says what the small plots show.
func (c *lotComposer) caption() block {
	drawn, raw := 0, ""
	for _, r := range c.lot.Rows {
		drawn += len(r.curves)
		for _, s := range r.curves {
			if s.raw {
				raw = " Grey: the measured pressure, where nothing was compensated."
			}
		}
	}
	if drawn == 0 {
		return block{}
	}
	text := "Small plots: the change of the compensated pressure from the hold's start to its end, all from " +
		number(c.y.High, 2) + " down to " + number(c.y.Low, 2) + " " + c.change.Symbol +
		"; what falls below leaves the frame. Dashed: what the limit allows. ± is the expanded uncertainty (95 %)." + raw
	return c.aside(text)
}
