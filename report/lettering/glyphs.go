package lettering

import (
	"fmt"
	"strings"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// Settable returns s as it can be set: composed (Unicode NFC), white space
// and line breaks as single spaces, and every character that the typeface
// lacks, that has no visible shape or that runs from right to left as its
// code point in brackets, ‹U+4E2D›. lacking tells whether there was any.
func Settable(s string) (text string, lacking bool) {
	var b strings.Builder
	for _, r := range norm.NFC.String(s) {
		switch {
		case r == ' ' || r == '\t' || r == '\n' || r == '\r':
			b.WriteByte(' ')
		case canSet(r):
			b.WriteRune(r)
		default:
			lacking = true
			fmt.Fprintf(&b, "‹%U›", r)
		}
	}
	return strings.Join(words(b.String()), " "), lacking
}

// canSet reports whether both faces have a visible glyph for r that may be
// set from left to right.
func canSet(r rune) bool {
	if r > 0xFFFF || r == unicode.ReplacementChar || !unicode.IsPrint(r) && r != '\u00a0' {
		return false
	}
	if unicode.In(r, unicode.Hebrew, unicode.Arabic, unicode.Syriac, unicode.Thaana) {
		return false
	}
	return regular().has(r) && bold().has(r)
}

func (c *cut) has(r rune) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	_, ok := c.advanceOf(r)
	return ok
}

// Outline returns the outlines of s set in f with its baseline's left end at
// pt as one path, to be filled by the non-zero rule.
func Outline(f font.Face, pt vg.Point, s string) (path vg.Path) {
	for _, run := range Runs(f, s) {
		path = appendRun(path, f, vg.Point{X: pt.X + run.X, Y: pt.Y}, run.Text)
	}
	return path
}

func appendRun(path vg.Path, f font.Face, pt vg.Point, s string) vg.Path {
	c := cutOf(f)
	c.mu.Lock()
	defer c.mu.Unlock()
	units := c.font.UnitsPerEm()
	scale := f.Font.Size / vg.Length(units) / 64
	for _, r := range s {
		i, err := c.font.GlyphIndex(&c.buf, r)
		if err != nil {
			panic(fmt.Sprintf("lettering: glyph of %U: %v", r, err))
		}
		segments, err := c.font.LoadGlyph(&c.buf, i, fixed.I(int(units)), nil)
		if err != nil {
			panic(fmt.Sprintf("lettering: outline of %U: %v", r, err))
		}
		path = appendGlyph(path, segments, pt, scale)
		em, _ := c.advanceOf(r)
		pt.X += vg.Length(em) * f.Font.Size
	}
	return path
}

// appendGlyph adds one glyph's contours; font outlines point down, pages up.
func appendGlyph(path vg.Path, segments sfnt.Segments, origin vg.Point, scale vg.Length) vg.Path {
	at := func(p fixed.Point26_6) vg.Point {
		return vg.Point{X: origin.X + vg.Length(p.X)*scale, Y: origin.Y - vg.Length(p.Y)*scale}
	}
	open := false
	for _, s := range segments {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if open {
				path.Close()
			}
			path.Move(at(s.Args[0]))
			open = true
		case sfnt.SegmentOpLineTo:
			path.Line(at(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			path.QuadTo(at(s.Args[0]), at(s.Args[1]))
		case sfnt.SegmentOpCubeTo:
			path.CubeTo(at(s.Args[0]), at(s.Args[1]), at(s.Args[2]))
		}
	}
	if open {
		path.Close()
	}
	return path
}
