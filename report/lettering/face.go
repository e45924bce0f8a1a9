// Package lettering knows the one typeface of every page and figure: its
// faces, how wide a text will be, how it is wrapped or shortened to fit, and
// which characters the typeface lacks. It knows nothing of what is written.
//
// Lengths are vg points. Text is kerned by the typeface's own table, figures
// are not, so that the figures of one column stand under each other. Every
// canvas places letters as Runs says; so a text has the same width everywhere.
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
	advance map[rune]float64    // in em; negative where the typeface has no glyph
	kerning map[[2]rune]float64 // in em
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
	return &cut{ttf: ttf, font: f, advance: map[rune]float64{}, kerning: map[[2]rune]float64{}}
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

// Width returns the width of s set in f. A character without a glyph counts
// as wide as the typeface's own sign for it.
func Width(f font.Face, s string) vg.Length {
	c := cutOf(f)
	c.mu.Lock()
	defer c.mu.Unlock()
	var em float64
	before := rune(-1)
	for _, r := range s {
		a, _ := c.advanceOf(r)
		em += c.kern(before, r) + a
		before = r
	}
	return vg.Length(em) * f.Font.Size
}

// Run is a part of a text that is set without kerning, X behind the text's
// beginning.
type Run struct {
	Text string
	X    vg.Length
}

// Runs parts s where letters are moved closer or apart.
func Runs(f font.Face, s string) (runs []Run) {
	c := cutOf(f)
	c.mu.Lock()
	defer c.mu.Unlock()
	var em float64
	begin, at, before := 0, 0.0, rune(-1)
	for i, r := range s {
		if k := c.kern(before, r); k != 0 {
			runs = append(runs, Run{s[begin:i], vg.Length(at) * f.Font.Size})
			em += k
			begin, at = i, em
		}
		a, _ := c.advanceOf(r)
		em += a
		before = r
	}
	if begin < len(s) {
		runs = append(runs, Run{s[begin:], vg.Length(at) * f.Font.Size})
	}
	return runs
}

// kern returns by how much, in em, b moves towards a (negative) or away from
// it; 0 beside figures. The caller holds c.mu.
func (c *cut) kern(a, b rune) float64 {
	if a < 0 || isFigure(a) || isFigure(b) {
		return 0
	}
	pair := [2]rune{a, b}
	if k, seen := c.kerning[pair]; seen {
		return k
	}
	k := c.lookUpKern(a, b)
	c.kerning[pair] = k
	return k
}

func isFigure(r rune) bool {
	return '0' <= r && r <= '9' || r == '.' || r == '−' || r == ' ' || r == '\u00a0'
}

func (c *cut) lookUpKern(a, b rune) float64 {
	i, errA := c.font.GlyphIndex(&c.buf, a)
	j, errB := c.font.GlyphIndex(&c.buf, b)
	if errA != nil || errB != nil || i == 0 || j == 0 {
		return 0
	}
	units := c.font.UnitsPerEm()
	k, err := c.font.Kern(&c.buf, i, j, fixed.I(int(units)), xfont.HintingNone)
	if err != nil { // the pair is not in the table
		return 0
	}
	return float64(k) / 64 / float64(units)
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
