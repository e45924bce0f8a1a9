package simbench

import (
	"regexp"
	"regexp/syntax"
	"strings"
)

// matching returns a text that a pattern fits, with number in the place of its
// group.
func matching(pattern *regexp.Regexp, number string) string {
	tree, err := syntax.Parse(pattern.String(), syntax.Perl)
	if err != nil {
		return number // it was compiled, so this does not happen
	}
	return shortest(tree, number)
}

// shortest is the shortest text that an expression fits.
func shortest(e *syntax.Regexp, number string) string {
	switch e.Op {
	case syntax.OpLiteral:
		return string(e.Rune)
	case syntax.OpCharClass:
		return string(e.Rune[:1])
	case syntax.OpAnyChar, syntax.OpAnyCharNotNL:
		return "x"
	case syntax.OpCapture:
		return number
	case syntax.OpPlus:
		return shortest(e.Sub[0], number)
	case syntax.OpStar, syntax.OpQuest:
		return holding(e, number, 0)
	case syntax.OpRepeat:
		return holding(e, number, e.Min)
	case syntax.OpConcat:
		var all strings.Builder
		for _, sub := range e.Sub {
			all.WriteString(shortest(sub, number))
		}
		return all.String()
	case syntax.OpAlternate:
		for _, sub := range e.Sub {
			if sub.MaxCap() > 0 {
				return shortest(sub, number)
			}
		}
		return shortest(e.Sub[0], number)
	}
	return "" // the beginning, the end, nothing
}

// holding is the expression's inner one so often, once at least where the
// group is in it.
func holding(e *syntax.Regexp, number string, times int) string {
	if e.MaxCap() > 0 {
		times = max(1, times)
	}
	return strings.Repeat(shortest(e.Sub[0], number), times)
}
