package lettering

import (
	"strings"
	"unicode/utf8"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

const ellipsis = "…"

// Shorten returns s, or as much of its beginning as fits into width with an
// ellipsis behind it; empty where not even the ellipsis fits.
func Shorten(f font.Face, s string, width vg.Length) string {
	if Width(f, s) <= width {
		return s
	}
	room := width - Width(f, ellipsis)
	if room < 0 {
		return ""
	}
	return strings.TrimRight(s[:fitting(f, s, room)], " ") + ellipsis
}

// shortenAtWord shortens as Shorten does, at the end of the last whole word
// where there is one.
func shortenAtWord(f font.Face, s string, width vg.Length) string {
	short := Shorten(f, s, width)
	kept, cut := strings.CutSuffix(short, ellipsis)
	if !cut || short == s || kept == "" || strings.HasPrefix(s[len(kept):], " ") {
		return short
	}
	if i := strings.LastIndexByte(kept, ' '); i > 0 {
		return strings.TrimRight(kept[:i], " ,;:") + " " + ellipsis
	}
	return short
}

// fitting returns how many bytes of s fit into width, at a rune's border.
func fitting(f font.Face, s string, width vg.Length) int {
	var used vg.Length
	for i, r := range s {
		used += Width(f, string(r))
		if used > width {
			return i
		}
	}
	return len(s)
}

// words parts s at plain spaces; a no-break space (U+00A0) stays.
func words(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ' ' })
}

// Wrap breaks s at spaces into lines no wider than width; a word that is
// wider than a line is broken where the line ends. With most > 0 there are at
// most so many lines, the last one shortened with an ellipsis. The result has
// at least one line.
func Wrap(f font.Face, s string, width vg.Length, most int) []string {
	var lines []string
	line := ""
	for _, word := range words(s) {
		next := word
		if line != "" {
			next = line + " " + word
		}
		if Width(f, next) <= width {
			line = next
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		line = word
		for Width(f, line) > width {
			n := max(fitting(f, line, width), firstRune(line))
			lines, line = append(lines, line[:n]), line[n:]
		}
	}
	if line != "" || len(lines) == 0 {
		lines = append(lines, line)
	}
	if most > 0 && len(lines) > most {
		rest := strings.Join(lines[most-1:], " ")
		lines = append(lines[:most-1], shortenAtWord(f, rest, width))
	}
	return lines
}

func firstRune(s string) int {
	_, n := utf8.DecodeRuneInString(s)
	return n
}
