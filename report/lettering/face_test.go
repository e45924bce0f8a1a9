package lettering

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
)

// Advances in units of 1/2048 em from the hmtx table of Liberation Sans 2.1
// (the metrics of its figures and capitals are those of the Helvetica family
// that PDF readers know as standard: 556/1000 for a figure, 667 for a P).
func TestWidthsAreThoseOfTheTypeface(t *testing.T) {
	assert.InDelta(t, 0.556, float64(Width(Regular(1), "0")), 5e-4)
	assert.InDelta(t, 0.667, float64(Width(Regular(1), "P")), 5e-4)
	assert.InDelta(t, 0.278, float64(Width(Regular(1), " ")), 5e-4)
	assert.InDelta(t, 0.722, float64(Width(Bold(1), "N")), 5e-4)
	assert.InDelta(t, 10*5*0.5562, float64(Width(Regular(10), "11111")), 0.01, "figures are not kerned")
	assert.Less(t, Width(Bold(10), "PA"), Width(Bold(10), "P")+Width(Bold(10), "A"), "letters are")
}

func TestRunsEndWhereTheWidthEnds(t *testing.T) {
	for _, s := range []string{"PASS", "INCONCLUSIVE", "AVATAR To Ye", "decay rate 0.11 bar/min", "Γιώργος", ""} {
		f := Bold(12)
		text, end := "", vg.Length(0)
		for _, r := range Runs(f, s) {
			text += r.Text
			end = r.X + Width(f, r.Text)
		}
		assert.Equal(t, s, text)
		assert.InDelta(t, float64(Width(f, s)), float64(end), 1e-9, s)
	}
}

func TestSettableTextsHaveGlyphs(t *testing.T) {
	for in, want := range map[string]string{
		"21 °C ± 2 µm ≤ ∞":        "21 °C ± 2 µm ≤ ∞",
		"Γιώργος, Жуков, Łódź":    "Γιώργος, Жуков, Łódź",
		"tab\there,\nnew line  x": "tab here, new line x",
		"e\u0301":                 "é",
		"no\u00a0break":           "no\u00a0break",
	} {
		got, lacking := Settable(in)
		assert.Equal(t, want, got)
		assert.False(t, lacking, in)
	}
	for in, want := range map[string]string{
		"中":           "‹U+4E2D›",
		"a\u200bb":    "a‹U+200B›b",
		"\u202eevil":  "‹U+202E›evil",
		"שלום"[:2]:    "‹U+05E9›",
		"🙂":           "‹U+1F642›",
		"bad\xffbyte": "bad‹U+FFFD›byte",
		"\x00":        "‹U+0000›",
	} {
		got, lacking := Settable(in)
		assert.Equal(t, want, got)
		assert.True(t, lacking, in)
		again, _ := Settable(got)
		assert.Equal(t, got, again)
	}
}

func TestOutlineStandsOnItsBaseline(t *testing.T) {
	path := Outline(Bold(100), vg.Point{X: 10, Y: 50}, "H")
	require.NotEmpty(t, path)
	low, high := vg.Length(1e9), vg.Length(-1e9)
	for _, c := range path {
		if c.Type != vg.CloseComp {
			low, high = min(low, c.Pos.Y), max(high, c.Pos.Y)
		}
	}
	assert.InDelta(t, 50, float64(low), 0.1)
	assert.InDelta(t, 50+100*CapHeight, float64(high), 0.1)
}
