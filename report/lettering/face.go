// Package lettering knows the one typeface of every page and figure: its
// faces, how wide a text will be, how it is wrapped or shortened to fit, and
// which characters the typeface lacks. It knows nothing of what is written.
//
// Lengths are vg points. Text is set without kerning, each glyph at the sum of
// the advances before it, so that the same text has the same width on every
// canvas and figures of one column stand under each other.
package lettering

import (
	"fmt"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// Family is the typeface's name in documents.
const Family = "LiberationSans"

// cut is one weight of the typeface with what has been read from it.
type cut struct {
	ttf  []byte
	font *opentype.Font

	mu      sync.Mutex
	buf     sfnt.Buffer
	advance map[rune]float64 // in em; -1 where the typeface has no glyph
}

var (
	regular = sync.OnceValue(func() *cut { return parse(liberationsansregular.TTF) })
	bold    = sync.OnceValue(func() *cut { return parse(liberationsansbold.TTF) })
)

func parse(ttf []byte) *cut {
	f, err := opentype.Parse(ttf)
	if err != nil {
		panic(fmt.Sprintf("lettering: embedded typeface: %v", err))
	}
	return &cut{ttf: ttf, font: f, advance: map[rune]float64{}}
}

func cutOf(f font.Face) *cut {
	if IsBold(f) {
		return bold()
	}
	return regular()
}

// Regular returns the upright face at the given size.
func Regular(size vg.Length) font.Face {
	return font.Face{
		Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: size},
		Face: regular().font,
	}
}

// Bold returns the bold face at the given size.
func Bold(size vg.Length) font.Face {
	return font.Face{
		Font: font.Font{Typeface: "Liberation", Variant: "Sans", Weight: xfont.WeightBold, Size: size},
		Face: bold().font,
	}
}

// IsBold reports whether f is the bold face.
func IsBold(f font.Face) bool { return f.Font.Weight == xfont.WeightBold }

// TTF returns the bytes of the face's font file, which the caller must not
// change.
func TTF(f font.Face) []byte { return cutOf(f).ttf }

// Width returns the width of s set in f without kerning. A character without
// a glyph counts as wide as the typeface's own sign for it.
func Width(f font.Face, s string) vg.Length {
	c := cutOf(f)
	c.mu.Lock()
	defer c.mu.Unlock()
	var em float64
	for _, r := range s {
		a, _ := c.advanceOf(r)
		em += a
	}
	return vg.Length(em) * f.Font.Size
}

// advanceOf returns a rune's advance in em and whether the typeface has a
// glyph for it. The caller holds c.mu.
func (c *cut) advanceOf(r rune) (em float64, ok bool) {
	if a, seen := c.advance[r]; seen {
		if a < 0 {
			return -a, false
		}
		return a, true
	}
	i, err := c.font.GlyphIndex(&c.buf, r)
	if err != nil {
		panic(fmt.Sprintf("lettering: glyph of %U: %v", r, err))
	}
	units := c.font.UnitsPerEm()
	a, err := c.font.GlyphAdvance(&c.buf, i, fixed.I(int(units)), xfont.HintingNone)
	if err != nil {
		panic(fmt.Sprintf("lettering: advance of %U: %v", r, err))
	}
	em = float64(a) / 64 / float64(units)
	if i == 0 {
		c.advance[r] = -em
		return em, false
	}
	c.advance[r] = em
	return em, true
}

// Ascent is the height of a capital's line above the baseline, Descent the
// depth of letters below it, CapHeight the height of a capital, as shares of
// the size; of Liberation Sans 2 (hhea and OS/2 tables).
const (
	Ascent    = 0.905
	Descent   = 0.212
	CapHeight = 0.688
)
