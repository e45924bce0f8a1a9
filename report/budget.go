package report

import (
	"math"
	"sort"
	"strings"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/result"
)

// budgetPages are the uncertainty budgets of every estimate, with all their
// lines.
func (c *composer) budgetPages() []*Page {
	flow := newFlow(c.sheet, c.titled("Uncertainty budget"))
	flow.add(single(c.aside(
		"u is a standard uncertainty (k = 1) and ν its degrees of freedom; a share is that of the variance. Expanded uncertainties cover 95 %; k is their factor."), 0))
	empty := true
	for _, circuit := range c.f.Result.Circuits {
		for _, t := range circuit.Tests {
			var plain []row
			for _, q := range verdict.Quantities {
				e, ok := t.Estimates[q.Name]
				switch {
				case !ok || e.Value == nil:
				case len(e.Budget) == 0:
					plain = append(plain, c.estimateRow(q.Name, e))
				default:
					flow.add(single(c.fullBudget(c.ofCircuit(circuit.Name), q.Name, e), between))
					empty = false
				}
			}
			if len(plain) > 0 {
				flow.add(single(c.table("Without lines of their own"+c.ofCircuit(circuit.Name), estimateColumns, plain, c.textWidth), between))
				empty = false
			}
		}
	}
	if empty {
		return nil
	}
	return flow.pages
}

// fullBudget is every line of an estimate's budget, the largest first.
func (c *composer) fullBudget(of, name string, e result.Estimate) block {
	s := c.show(name, e)
	total := variance(e.Budget)
	decimals := si.Decimals(math.Sqrt(total)/s.unit.Factor) + 1
	line := func(source string, u float64, dof *float64, note string) row {
		return row{most: 12, cells: []string{
			source, number(u/s.unit.Factor, decimals), number(100*u*u/total, 1), freedom(dof), note,
		}}
	}
	var rows []row
	for _, l := range largestFirst(e.Budget) {
		rows = append(rows, line(l.Source, l.U, l.DOF, trueMinus(l.Note)))
	}
	sum := line("combined", math.Sqrt(total), e.DOF, "")
	sum.ruled = true
	rows = append(rows, sum)
	if !math.IsNaN(s.expanded) {
		k := ""
		if e.U != nil && *e.U > 0 {
			k = "k = " + number(s.expanded*s.unit.Factor / *e.U, 2)
		}
		rows = append(rows, row{bold: true, cells: []string{"expanded (95 %)", number(s.expanded, decimals), "", "", k}})
	}
	columns := []column{
		{title: "source", weight: 1.2},
		{title: "u", kind: numbers},
		{title: "share\u00a0[%]", kind: numbers},
		{title: "ν", kind: numbers},
		{title: "from", weight: 1.6},
	}
	title := c.titleOf(name, nil) + of + ": " + s.valueText() + " ± " + s.expandedText() + " " + s.unit.Symbol
	return c.table(title, columns, rows, c.textWidth)
}

// variance is the sum of a budget's squares.
func variance(lines []result.BudgetLine) (total float64) {
	for _, l := range lines {
		total += l.U * l.U
	}
	return total
}

func largestFirst(lines []result.BudgetLine) []result.BudgetLine {
	lines = append([]result.BudgetLine(nil), lines...)
	sort.SliceStable(lines, func(i, k int) bool { return lines[i].U > lines[k].U })
	return lines
}

// freedom writes degrees of freedom; null in the result is infinite.
func freedom(d *float64) string {
	if d == nil || math.IsInf(*d, 1) || *d >= 1e4 {
		return "∞"
	}
	return number(*d, 0)
}

// The lines that a budget shows by name: so many at most, and none with a
// smaller share than this; the others are added up.
const (
	budgetLines = 6
	budgetShare = 0.005
)

// budget is the uncertainty budget of the quantity that matters most.
func (c *composer) budget(of string, t result.Test) block {
	name, e, ok := budgeted(t)
	if !ok {
		return block{}
	}
	unit := c.show(name, e).unit
	lines, total := largestFirst(e.Budget), variance(e.Budget)
	decimals := si.Decimals(math.Sqrt(total)/unit.Factor) + 1
	line := func(source string, square float64) row {
		return row{cells: []string{source, number(math.Sqrt(square)/unit.Factor, decimals), number(100*square/total, 0)}}
	}
	var rows []row
	var rest float64
	for i, l := range lines {
		if i < budgetLines && l.U*l.U > budgetShare*total {
			rows = append(rows, line(l.Source, l.U*l.U))
		} else {
			rest += l.U * l.U
		}
	}
	if rest > 0 {
		rows = append(rows, line("all others", rest))
	}
	if total > 0 {
		sum := line("combined", total)
		sum.ruled = true
		rows = append(rows, sum)
	}
	if s := c.show(name, e); s.known {
		rows = append(rows, row{cells: []string{"expanded (95 %)", number(s.expanded, decimals), ""}, bold: true})
	}
	columns := []column{
		{title: "source", weight: 1},
		{title: "u\u00a0(k\u00a0=\u00a01)", kind: numbers},
		{title: "share\u00a0[%]", kind: numbers},
	}
	return c.table("Uncertainty budget: "+strings.ToLower(c.titleOf(name, nil))+" ["+unit.Symbol+"]"+of, columns, rows, c.halfWidth)
}

// budgeted returns the first limited quantity that has a budget, else the
// first estimated one.
func budgeted(t result.Test) (name string, e result.Estimate, ok bool) {
	for _, l := range t.Limits {
		if e, ok := t.Estimates[l.Quantity]; ok && len(e.Budget) > 0 {
			return l.Quantity, e, true
		}
	}
	for _, q := range verdict.Quantities {
		if e, ok := t.Estimates[q.Name]; ok && len(e.Budget) > 0 {
			return q.Name, e, true
		}
	}
	return "", e, false
}
