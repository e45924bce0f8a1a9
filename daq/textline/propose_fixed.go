package textline

import (
	"regexp"
	"slices"
	"strings"
)

// piece is a number at a fixed place.
var piece = regexp.MustCompile(`[-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?`)

// fixedPlaces looks for numbers that end at the same places in all lines of
// the commonest length; each field reaches back to the one before.
func fixedPlaces(texts []string) (l layout) {
	lengths := map[int]int{}
	usual := 0
	for _, t := range texts {
		if n := len([]rune(t)); n > 0 {
			if lengths[n]++; lengths[n] > lengths[usual] {
				usual = n
			}
		}
	}
	var ends []int
	var like []string
	for _, t := range texts {
		if len([]rune(t)) != usual || len(t) != usual {
			continue
		}
		var here []int
		for _, at := range piece.FindAllStringIndex(t, -1) {
			here = append(here, at[1])
		}
		if like = append(like, t); ends != nil && !slices.Equal(ends, here) {
			return layout{}
		}
		ends = here
	}
	if len(ends) == 0 {
		return layout{}
	}
	begins := fixedBegins(like, ends)
	for k, end := range ends {
		var cells []string
		for _, t := range like {
			cells = append(cells, strings.TrimSpace(t[begins[k]-1:end]))
		}
		c, worth := columnOf(cells, 0, true)
		c.Field = Field{From: begins[k], To: end}
		l.columns = append(l.columns, c)
		l.score += worth / float64(len(ends))
	}
	l.score *= float64(len(like)) / float64(len(texts))
	return l
}

// fixedBegins is the first character of each field: as far back as only
// numbers, signs and blanks stand there in any line, and no field does.
func fixedBegins(lines []string, ends []int) (begins []int) {
	for k, end := range ends {
		lowest := 1
		if k > 0 {
			lowest = ends[k-1] + 1
		}
		begin := end
		for begin > lowest && !slices.ContainsFunc(lines, func(l string) bool {
			return strings.IndexByte("+-0123456789. eE", l[begin-2]) < 0
		}) {
			begin--
		}
		begins = append(begins, begin)
	}
	return begins
}
