package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"holdbench/analysis"
	"holdbench/analysis/verdict"
	"holdbench/report/result"
)

// limits is the table of limits; the bound is what was held against the limit.
func (c *composer) limits() block {
	columns := []column{
		{title: "quantity", weight: 2.2},
		{title: "limit", kind: numbers},
		{title: "estimate", kind: numbers},
		{title: "±\u00a095\u00a0% two-sided", kind: numbers},
		{title: "bound, one-sided", kind: numbers},
		{title: "unit", kind: tight},
		{title: "verdict", kind: tight},
		{title: "rule, risks", kind: tight},
		{title: "limit set by", weight: 3},
	}
	several := len(c.f.Result.Circuits) > 1
	if several {
		columns = append([]column{{title: "circuit", kind: tight}}, columns...)
	}
	var rows []row
	for _, circuit := range c.f.Result.Circuits {
		for _, t := range circuit.Tests {
			for _, l := range t.Limits {
				r := c.limitRow(t, l)
				if several {
					r.cells = append([]string{circuit.Name}, r.cells...)
				}
				rows = append(rows, r)
			}
		}
	}
	if len(rows) == 0 {
		b := block{head: []piece{c.title("Limits", c.textWidth)}}
		b.body = c.item("The procedure sets no limit.", c.textWidth)
		return b
	}
	return c.table("Limits", columns, rows, c.textWidth)
}

func (c *composer) limitRow(t result.Test, l result.Limit) row {
	f := c.figuresOf(t, l)
	bound := map[string]string{"max": "at most", "min": "at least"}[l.Bound]
	source := l.Source
	if source == "" {
		source = "not stated"
	}
	judged := l.Verdict
	if c.f.Result.Challenge != nil {
		judged = "not judged"
	}
	if share, ok := writtenShare(l); ok {
		bound += " " + share
	}
	return row{cells: []string{
		c.titleOf(l.Quantity, l.After) + ", " + bound,
		f.limitText(), f.estimate.valueText(), f.estimate.expandedText(), f.boundText(),
		f.estimate.unit.Symbol, judged, ruleText(l), source,
	}}
}

// writtenShare is a limit that was written as a share of the test pressure, in
// those words.
func writtenShare(l result.Limit) (string, bool) {
	share, _, ok := strings.Cut(l.Written, " of the test pressure")
	return share + " of the test pressure", ok
}

func ruleText(l result.Limit) string {
	if l.Rule != "guarded" {
		return l.Rule
	}
	return fmt.Sprintf("guarded, %s / %s", percent(l.RiskPass), percent(l.RiskFail))
}

// reasons are why the verdict is what it is, beside what would settle it.
func (c *composer) reasons() band {
	why, advice := c.allReasons()
	switch {
	case len(why) == 0 && len(advice) == 0:
		return band{}
	case len(advice) == 0:
		return single(c.list(c.reasonsTitle(), why, c.textWidth), between)
	case len(why) == 0:
		return single(c.list("Advice", advice, c.textWidth), between)
	}
	return c.pair(c.list(c.reasonsTitle(), why, c.halfWidth), c.list("Advice", advice, c.halfWidth), between)
}

// reasonsTitle is the reasons' heading: a unit that passed needs none, what is
// said of it is by the way.
func (c *composer) reasonsTitle() string {
	if c.verdict() == verdict.Pass.String() {
		return "Notes"
	}
	return "Reasons"
}

func (c *setter) list(title string, items []string, width vg.Length) block {
	b := block{head: []piece{c.title(title, width)}}
	for _, s := range items {
		b.body = append(b.body, c.item(fullSentence(s), width)...)
	}
	return b
}

// allReasons gathers the reasons of result, tests and limits, each once.
func (c *composer) allReasons() (why, advice []string) {
	r := c.f.Result
	seen := map[string]bool{}
	add := func(list *[]string, prefix string, items ...string) {
		for _, s := range items {
			if key := sentence(prefix + s); s != "" && !seen[key] {
				seen[key] = true
				*list = append(*list, prefix+s)
			}
		}
	}
	add(&why, "", r.Reasons...)
	add(&advice, "", r.Advice...)
	for _, circuit := range r.Circuits {
		prefix := ""
		if len(r.Circuits) > 1 {
			prefix = "circuit " + circuit.Name + ": "
		}
		for _, t := range circuit.Tests {
			add(&why, prefix, t.Reasons...)
			add(&advice, prefix, t.Advice...)
			for _, l := range t.Limits {
				add(&why, prefix, l.Reason)
			}
		}
	}
	explaining(r, why)
	add(&why, "", r.Recording.Findings...)
	return why, advice
}

// explaining moves the reasons that explain the verdict to the front: those of
// a circuit that has it before those of others, mere notes last.
func explaining(r *result.Result, why []string) {
	rank := func(s string) int {
		switch {
		case isNote(s):
			return 2
		case ofOther(r, s):
			return 1
		}
		return 0
	}
	slices.SortStableFunc(why, func(a, b string) int { return cmp.Compare(rank(a), rank(b)) })
}

// isNote reports whether a reason decides nothing: it says that the pressure
// still settled, or what had nothing to be checked against.
func isNote(reason string) bool {
	return strings.HasSuffix(reason, analysis.ReasonStillSettling) || strings.Contains(reason, "not checked:") ||
		strings.HasPrefix(reason, result.ConvertedAgain) || strings.HasSuffix(reason, result.CorrectionOfTheEnd)
}
