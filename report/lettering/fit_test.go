package lettering

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

func TestShortenEndsWithAnEllipsisAndFits(t *testing.T) {
	f := Regular(8)
	assert.Equal(t, "short", Shorten(f, "short", 100))
	s := Shorten(f, strings.Repeat("serial ", 30), 100)
	assert.True(t, strings.HasSuffix(s, "…"))
	assert.LessOrEqual(t, Width(f, s), vg.Length(100))
	assert.Empty(t, Shorten(f, "no room", 1))
}

func TestWrapBreaksAtSpacesAndInsideLongWords(t *testing.T) {
	f := Regular(8)
	assert.Equal(t, []string{"one two", "three"}, Wrap(f, "one two three", Width(f, "one two t"), 0))
	assert.Equal(t, []string{""}, Wrap(f, "", 50, 0))
	lines := Wrap(f, strings.Repeat("x", 100), Width(f, strings.Repeat("x", 30)), 0)
	assert.Len(t, lines, 4)
	lines = Wrap(f, strings.Repeat("word ", 100), 80, 2)
	assert.Len(t, lines, 2)
	assert.True(t, strings.HasSuffix(lines[1], "…"))
	assert.Equal(t, []string{"5\u00a0%", "of it"}, Wrap(f, "5\u00a0% of it", Width(f, "5\u00a0% o"), 0), "a no-break space holds")
}

func TestWrappedLinesFitAndLoseNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`[a-zA-Zα-ω0-9 ,.]{0,120}`).Draw(t, "text")
		width := vg.Length(rapid.Float64Range(20, 200).Draw(t, "width"))
		f := Bold(vg.Length(rapid.Float64Range(5, 12).Draw(t, "size")))
		lines := Wrap(f, s, width, 0)
		for _, line := range lines {
			if Width(f, line) > width {
				t.Fatalf("%q is %v wide, not %v", line, Width(f, line), width)
			}
		}
		squeeze := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		if squeeze(strings.Join(lines, "")) != squeeze(s) {
			t.Fatalf("%q became %q", s, lines)
		}
	})
}
