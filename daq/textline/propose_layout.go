package textline

import (
	"math"
	"regexp"
	"slices"
	"strings"

	"holdbench/analysis/si"
)

// layout is one way of cutting lines, and how well it does.
type layout struct {
	separator string
	columns   []Column
	score     float64
}

// bestLayout tries the separators, then fixed places.
func bestLayout(texts []string) (best layout) {
	for _, separator := range []string{"", ";", "\t", "|", ",", " ", "/", "&", "||", "::"} {
		if l := layoutOf(texts, separator); l.score > best.score+1e-9 {
			best = l
		}
	}
	if best.score < 0.6 {
		if l := fixedPlaces(texts); l.score > best.score {
			best = l
		}
	}
	return best
}

// layoutOf cuts the lines at a separator.
func layoutOf(texts []string, separator string) layout {
	f := Format{Separator: separator}
	l := layout{separator: separator}
	width, share := usualWidth(f, texts)
	if separator != "" && width < 2 || separator == "," && decimalComma(texts, width) {
		return l
	}
	cells := make([][]string, width)
	for _, t := range texts {
		if cut := f.columns(t); len(cut) == width {
			for i, c := range cut {
				cells[i] = append(cells[i], strings.TrimSpace(c))
			}
		}
	}
	numbers := 0
	for i := range cells {
		c, worth := columnOf(cells[i], i+1, f.comma())
		if c.Number {
			numbers++
		}
		l.columns = append(l.columns, c)
		l.score += worth / float64(width)
	}
	if numbers == 0 {
		return layout{separator: separator}
	}
	l.score = l.score*share + 0.001*float64(numbers)
	return l
}

// usualWidth is the commonest number of columns and the share of lines that
// have it.
func usualWidth(f Format, texts []string) (width int, share float64) {
	counts := map[int]int{}
	for _, t := range texts {
		n := len(f.columns(t))
		if counts[n]++; counts[n] > counts[width] || counts[n] == counts[width] && n > width {
			width = n
		}
	}
	return width, float64(counts[width]) / float64(len(texts))
}

// decimalComma says that the commas of the lines are those of one number.
func decimalComma(texts []string, width int) bool {
	if width != 2 {
		return false
	}
	decimals := -1
	for _, t := range texts {
		n, ok := parseNumber(strings.TrimSpace(t), true)
		if !ok || n.isNumber && decimals >= 0 && n.decimals != decimals {
			return false
		}
		if n.isNumber {
			decimals = n.decimals
		}
	}
	return decimals > 0
}

// named is a column "name = value".
var named = regexp.MustCompile(`^([A-Za-z_][A-Za-z0-9_.]*(?: [A-Za-z0-9_.]+)*)\s*[=:]\s*(.*)$`)

// columnOf looks at one column's texts. worth is from 0, which says nothing,
// to 1.
func columnOf(cells []string, column int, comma bool) (c Column, worth float64) {
	c = Column{Field: Field{Column: column}, Least: math.Inf(1), Most: math.Inf(-1)}
	if name := commonName(cells); name != "" {
		c.Field = Field{Name: name}
		c.Header = name
		for i := range cells {
			cells[i] = named.FindStringSubmatch(cells[i])[2]
		}
	}
	numbers, units := 0, map[string]int{}
	for _, cell := range cells {
		n, ok := parseNumber(cell, comma)
		switch {
		case !ok:
			if len(c.Words) < 5 && !slices.Contains(c.Words, cell) {
				c.Words = append(c.Words, cell)
			}
		case n.isNumber:
			numbers++
			units[n.unit]++
			c.Example = cell
			c.Least, c.Most = min(c.Least, n.signal.Raw), max(c.Most, n.signal.Raw)
		default:
			numbers++ // a word for none
		}
	}
	if c.Number = c.Example != "" && 5*numbers >= 4*len(cells); c.Number {
		c.Words = nil
		for unit, n := range units {
			if 2*n > numbers {
				c.Unit = unit
			}
		}
		return c, 1
	}
	c.Example = ""
	if len(cells) > 0 {
		c.Example = cells[len(cells)-1]
	}
	return c, worthOfWords(&c, cells)
}

func commonName(cells []string) string {
	name := ""
	for _, cell := range cells {
		m := named.FindStringSubmatch(cell)
		if m == nil || name != "" && m[1] != name {
			return ""
		}
		name = m[1]
	}
	return name
}

// clockTime is a time or a date.
var clockTime = regexp.MustCompile(`^\d{1,4}[-:./]\d{1,2}[-:./]\d{1,4}([ T]\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?)?Z?$`)

func worthOfWords(c *Column, cells []string) float64 {
	allTimes := true
	for _, cell := range cells {
		allTimes = allTimes && clockTime.MatchString(cell)
	}
	switch {
	case allTimes:
		c.Words = nil
		return 0.7
	case len(c.Words) == 1 && len(si.ParseAnyUnit(c.Words[0])) > 0 && c.Words[0] != "":
		return 0.9
	case len(c.Words) == 1 && c.Words[0] != "" && unitLike(c.Words[0]):
		return 0.7
	case len(c.Words) == 1:
		return 0.4
	case len(c.Words) <= 4 && !slices.ContainsFunc(c.Words, func(w string) bool { return strings.ContainsAny(w, " ,;") }):
		return 0.5
	}
	c.Words = nil
	return 0
}
