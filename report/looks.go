package report

import (
	"fmt"
	"math"

	"holdbench/analysis/si"
	"holdbench/report/result"
)

// lookTable lists the looks at a circuit's hold, with the boundaries by which
// each decided; nothing where it was not looked at before its end.
func (c *composer) lookTable(circuit string) (bands []band) {
	for _, of := range c.f.Result.Circuits {
		if of.Name != circuit {
			continue
		}
		for _, t := range of.Tests {
			if t.Early != nil {
				bands = append(bands, single(c.looksAt(*t.Early), 1*mm), single(c.looksNote(*t.Early), 2*mm))
			}
		}
	}
	return bands
}

// looksAt is the table of one hold's looks.
func (c *composer) looksAt(e result.Early) block {
	var rows []row
	for _, l := range e.Looks {
		verdictText := l.Verdict
		if !l.Judged {
			verdictText = "not judged: " + orNone(l.Reason)
		}
		if len(l.Limits) == 0 {
			rows = append(rows, row{cells: []string{fmt.Sprint(l.Number), spell(l.Time), none, none, none, none, verdictText}})
		}
		for i, limit := range l.Limits {
			r := row{cells: []string{"", "", c.titleOf(limit.Quantity, nil), shareText(limit.Information), figureOr(limit.PassBoundary), figureOr(limit.FailBoundary), limit.Verdict}}
			if i == 0 {
				r.cells[0], r.cells[1] = fmt.Sprint(l.Number), spell(l.Time)
			}
			if !l.Judged {
				r.cells[6] = verdictText
			}
			rows = append(rows, r)
		}
	}
	return c.table("Looks at the hold", []column{
		{title: "look", kind: numbers}, {title: "at", kind: numbers}, {title: "quantity", weight: 2}, {title: "information", kind: numbers},
		{title: "PASS at", kind: numbers}, {title: "FAIL at", kind: numbers}, {title: "verdict", weight: 2},
	}, rows, c.textWidth)
}

// looksNote says how long the hold was to be, and what the looks cost.
func (c *composer) looksNote(e result.Early) block {
	note := fmt.Sprintf("Planned hold %s, longest hold %s, %d looks planned. A look decides where the estimate lies so many standard uncertainties on its side of the limit: "+
		"more than a single look would need, so that all looks together keep the stated risks; the factor of the deciding interval allows for that.",
		spell(e.Hold), spell(e.Longest), e.Planned)
	return c.aside(note)
}

// spell writes the time of a look to a tenth of a second.
func spell(seconds float64) string { return duration(math.Round(10*seconds) / 10) }

func figureOr(x *float64) string {
	if x == nil {
		return none
	}
	return number(*x, 2)
}

func shareText(x *float64) string {
	if x == nil {
		return none
	}
	percent := 100 * *x
	decimals := 0
	if percent < 1 { // two digits, so that little does not read as none
		decimals = si.Decimals(percent)
	}
	return number(percent, decimals) + "\u00a0%"
}
