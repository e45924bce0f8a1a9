package report

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"

	"holdbench/analysis/verdict"
	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// The verdict's word is set so large that its capitals are 10 mm high: to be
// read from three metres.
const (
	verdictSize  = vg.Length(41)
	verdictInset = vg.Length(13)
	signWidth    = vg.Length(44)
)

// look is how a verdict's box differs from the others, without any colour: a
// frame, what fills it, a sign.
type look struct {
	frame, fill, word color.Color
	sign              func(p *Page, center vg.Point, ink color.Color)
	hatched           bool
}

var (
	passInk    = color.NRGBA{R: 0x0e, G: 0x4f, B: 0x4a, A: 255}
	failFill   = color.NRGBA{R: 0x7d, G: 0x1d, B: 0x12, A: 255}
	unclearInk = color.NRGBA{R: 0x4a, G: 0x3b, B: 0x10, A: 255}
	hatchInk   = color.NRGBA{R: 0xdb, G: 0xd3, B: 0xbd, A: 255}
)

func lookOf(word string) look {
	switch word {
	case verdict.Pass.String():
		return look{frame: passInk, fill: figure.Paper, word: passInk, sign: tick}
	case verdict.Fail.String():
		return look{frame: failFill, fill: failFill, word: figure.Paper, sign: cross}
	}
	return look{frame: unclearInk, fill: figure.Paper, word: unclearInk, sign: openRing, hatched: true}
}

// margin is the room at the right that text leaves to the hatching.
func (l look) margin() vg.Length {
	if l.hatched {
		return signWidth + verdictInset
	}
	return 0
}

// verdict is the result's verdict; none at all is INCONCLUSIVE.
func (c *composer) verdict() string {
	if c.f.Result.Verdict == "" {
		return verdict.Inconclusive.String()
	}
	return c.f.Result.Verdict
}

// verdictBox is the verdict, large, and the bound that decided beneath.
func (c *composer) verdictBox() block {
	word := c.verdict()
	l := lookOf(word)
	face := lettering.Regular(10)
	var lines []string
	for _, s := range c.deciding() {
		lines = append(lines, c.wrap(face, s, textWidth-2*verdictInset-l.margin(), 3)...)
	}
	height := verdictInset + verdictSize*lettering.CapHeight + 19 + vg.Length(len(lines)-1)*13 + 11
	draw := func(p *Page, at vg.Point) {
		p.fill(l.fill, box(at, textWidth, height))
		if l.hatched {
			hatch(p, at, textWidth, height)
		}
		p.outline(l.frame, 2.4, nil, box(vg.Point{X: at.X + 1.2, Y: at.Y - 1.2}, textWidth-2.4, height-2.4))
		base := at.Y - verdictInset - verdictSize*lettering.CapHeight
		p.text(lettering.Bold(verdictSize), l.word, at.X+verdictInset, base, c.short(lettering.Bold(verdictSize), word, textWidth-2*verdictInset-signWidth))
		l.sign(p, vg.Point{X: at.X + textWidth - verdictInset - signWidth/2, Y: base + verdictSize*lettering.CapHeight/2}, l.word)
		for i, line := range lines {
			p.text(face, l.word, at.X+verdictInset, base-19-vg.Length(i)*13, line)
		}
	}
	return block{body: []piece{{height: height, draw: draw}}}
}

// hatch fills a margin strip at the box's right with slanted lines.
func hatch(p *Page, at vg.Point, width, height vg.Length) {
	const step = vg.Length(6)
	left, right := at.X+width-verdictInset*2-signWidth, at.X+width
	bottom := at.Y - height
	for x := left - height; x < right; x += step {
		from, to := vg.Point{X: x, Y: bottom}, vg.Point{X: x + height, Y: at.Y}
		if from.X < left {
			from = vg.Point{X: left, Y: bottom + (left - x)}
		}
		if to.X > right {
			to = vg.Point{X: right, Y: at.Y - (to.X - right)}
		}
		p.rule(hatchInk, 1.6, from, to)
	}
}

// tick is a check mark in a ring.
func tick(p *Page, at vg.Point, ink color.Color) {
	ring(p, at, ink, 3)
	path := polygon(
		vg.Point{X: at.X - 8.5, Y: at.Y + 0.5},
		vg.Point{X: at.X - 2.5, Y: at.Y - 6},
		vg.Point{X: at.X + 9, Y: at.Y + 7},
	)
	p.outline(ink, 3.6, nil, path)
}

// cross is two bars across each other.
func cross(p *Page, at vg.Point, ink color.Color) {
	const r = 13
	for _, s := range []vg.Length{1, -1} {
		p.outline(ink, 6, nil, polygon(vg.Point{X: at.X - r, Y: at.Y - s*r}, vg.Point{X: at.X + r, Y: at.Y + s*r}))
	}
}

// openRing is a ring with nothing in it.
func openRing(p *Page, at vg.Point, ink color.Color) {
	disc := vg.Path{}
	disc.Move(vg.Point{X: at.X + 17, Y: at.Y})
	disc.Arc(at, 17, 0, 2*math.Pi)
	disc.Close()
	p.fill(figure.Paper, disc)
	ring(p, at, ink, 4.5)
}

func ring(p *Page, at vg.Point, ink color.Color, width vg.Length) {
	var path vg.Path
	path.Move(vg.Point{X: at.X + 16, Y: at.Y})
	path.Arc(at, 16, 0, 2*math.Pi)
	path.Close()
	p.outline(ink, width, nil, path)
}
