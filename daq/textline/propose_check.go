package textline

import (
	"strings"
)

// suffix is what ends the lines, where no check does.
func (p Proposal) suffix(data []string) string {
	if p.Format.Check.none() {
		return edge(data, false)
	}
	return ""
}

// findCheck tries every check at every place.
func findCheck(lines []string, prefix string) Check {
	const (
		least  = 4  // of one in 256 by chance, all of so many
		enough = 50 // and more of them say nothing new
	)
	different := map[string]bool{}
	for _, l := range lines {
		if len(different) < enough {
			different[l] = true
		}
	}
	if len(different) < least {
		return Check{}
	}
	for _, form := range []SumForm{Hex, Decimal, Bytes} {
		for _, after := range []string{"*", "\x03", "#", "|", ",", ";", " ", "\t", "&", ""} {
			for _, sum := range Sums {
				for over := range 8 {
					c := Check{Sum: sum, Form: form, After: after, WithPrefix: over&1 != 0, WithAfter: over&2 != 0, LowFirst: over&4 != 0}
					if c.pointless(prefix) {
						continue
					}
					if n := c.fits(different, prefix); n >= least && 10*n >= 9*len(different) {
						return c
					}
				}
			}
		}
	}
	return Check{}
}

// pointless says that a variant is another one over again.
func (c Check) pointless(prefix string) bool {
	return c.Form == Decimal && c.After == "" || c.WithPrefix && prefix == "" || c.WithAfter && c.After == "" ||
		c.LowFirst && (c.Sum.Bytes == 1 || c.Form == Decimal)
}

func (c Check) fits(lines map[string]bool, prefix string) (n int) {
	for l := range lines {
		text, ok := strings.CutPrefix(l, prefix)
		if !ok {
			continue
		}
		if _, err := c.take(prefix, text); err == nil {
			n++
		}
	}
	return n
}
