package report

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"

	"holdbench/analysis/challenge"
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
	sign              func(p *Page, center vg.Point, ink color.Color, scale vg.Length)
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
	case challengeWord(challenge.Passed.String()), challengeWord(challenge.Unknown.String()):
		return look{frame: figure.Ink, fill: figure.Paper, word: figure.Ink, sign: noSign}
	case challengeWord(challenge.Failed.String()):
		return look{frame: figure.Ink, fill: figure.Ink, word: figure.Paper, sign: noSign}
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

// verdict is the result's verdict; none at all is INCONCLUSIVE. That of a
// challenge is the bench's.
func (c *composer) verdict() string {
	if ch := c.f.Result.Challenge; ch != nil {
		return challengeWord(ch.Outcome)
	}
	if c.f.Result.Verdict == "" {
		return verdict.Inconclusive.String()
	}
	return c.f.Result.Verdict
}

// verdictBox is the verdict, large, and the bound that decided beneath.
func (c *composer) verdictBox() block {
	word := c.verdict()
	l := lookOf(word)
	face, large := lettering.Regular(10), verdictSize
	for lettering.Width(lettering.Bold(large), word) > c.textWidth-2*verdictInset-signWidth && large > sizeText {
		large--
	}
	var lines []string
	for _, s := range c.deciding() {
		lines = append(lines, c.wrap(face, s, c.textWidth-2*verdictInset-l.margin(), 3)...)
	}
	height := verdictInset + verdictSize*lettering.CapHeight + 19 + vg.Length(len(lines)-1)*13 + 11
	draw := func(p *Page, at vg.Point) {
		p.fill(l.fill, box(at, c.textWidth, height))
		if l.hatched {
			hatch(p, at, c.textWidth, height)
		}
		p.outline(l.frame, 2.4, nil, box(vg.Point{X: at.X + 1.2, Y: at.Y - 1.2}, c.textWidth-2.4, height-2.4))
		base := at.Y - verdictInset - verdictSize*lettering.CapHeight
		p.text(lettering.Bold(large), l.word, at.X+verdictInset, base, c.settable(word))
		l.sign(p, vg.Point{X: at.X + c.textWidth - verdictInset - signWidth/2, Y: base + verdictSize*lettering.CapHeight/2}, l.word, 1)
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

// noSign is that of a challenge, which judges no unit.
func noSign(*Page, vg.Point, color.Color, vg.Length) {}

// tick is a check mark in a ring; like the other signs it is 32 points wide
// at a scale of 1.
func tick(p *Page, at vg.Point, ink color.Color, scale vg.Length) {
	ring(p, at, ink, 3, scale)
	path := polygon(
		vg.Point{X: at.X - 8.5*scale, Y: at.Y + 0.5*scale},
		vg.Point{X: at.X - 2.5*scale, Y: at.Y - 6*scale},
		vg.Point{X: at.X + 9*scale, Y: at.Y + 7*scale},
	)
	p.outline(ink, 3.6*scale, nil, path)
}

// cross is two bars across each other.
func cross(p *Page, at vg.Point, ink color.Color, scale vg.Length) {
	r := 13 * scale
	for _, s := range []vg.Length{1, -1} {
		p.outline(ink, 6*scale, nil, polygon(vg.Point{X: at.X - r, Y: at.Y - s*r}, vg.Point{X: at.X + r, Y: at.Y + s*r}))
	}
}

// openRing is a ring with nothing in it.
func openRing(p *Page, at vg.Point, ink color.Color, scale vg.Length) {
	p.fill(figure.Paper, circle(at, 17*scale))
	ring(p, at, ink, 4.5, scale)
}

func ring(p *Page, at vg.Point, ink color.Color, width, scale vg.Length) {
	p.outline(ink, width*scale, nil, circle(at, 16*scale))
}

func circle(at vg.Point, radius vg.Length) (path vg.Path) {
	path.Move(vg.Point{X: at.X + radius, Y: at.Y})
	path.Arc(at, radius, 0, 2*math.Pi)
	path.Close()
	return path
}

const (
	badgeSign = vg.Length(10) // the sign's width in a badge
	badgeGap  = vg.Length(4)
)

// badgeWidth is the width of a badge.
func badgeWidth(word string) vg.Length {
	return badgeSign + badgeGap + lettering.Width(lettering.Bold(sizeText), word)
}

// badge is a verdict in a line of text: its sign, then its word; at is the
// middle of its left side.
func (c *setter) badge(p *Page, at vg.Point, word string) {
	l := lookOf(word)
	ink := l.frame
	l.sign(p, vg.Point{X: at.X + badgeSign/2, Y: at.Y}, ink, badgeSign/34)
	face := lettering.Bold(sizeText)
	p.text(face, ink, at.X+badgeSign+badgeGap, at.Y-sizeText*lettering.CapHeight/2, c.settable(word))
}
