package report

import (
	"math"
	"sort"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/result"
)

// figures are the further estimates beside the uncertainty budget, for each
// test.
func (c *composer) figures() band {
	var left, right block
	several := len(c.f.Result.Circuits) > 1
	for _, circuit := range c.f.Result.Circuits {
		of := ""
		if several {
			of = ", circuit " + circuit.Name
		}
		for _, t := range circuit.Tests {
			left = join(left, c.estimates("Further estimates"+of, t))
			right = join(right, c.budget(of, t))
		}
	}
	if len(left.body) == 0 && len(right.body) == 0 {
		return band{}
	}
	return pair(left, right, 5*mm)
}

// join puts one block under another.
func join(above, below block) block {
	if len(above.head)+len(above.body) == 0 {
		return below
	}
	above.body = append(above.body, space(4*mm))
	above.body = append(above.body, below.head...)
	above.body = append(above.body, below.body...)
	return above
}

func (c *composer) estimates(title string, t result.Test) block {
	limited := map[string]bool{}
	for _, l := range t.Limits {
		limited[l.Quantity] = true
	}
	var rows, absent []row
	for _, q := range verdict.Quantities {
		e, ok := t.Estimates[q.Name]
		switch {
		case !ok || limited[q.Name]:
		case e.Value == nil:
			absent = append(absent, row{cells: []string{q.Title}, note: "not given: " + e.Reason})
		default:
			s := c.show(q.Name, e)
			rows = append(rows, row{cells: []string{q.Title, s.valueText(), s.expandedText(), s.unit.Symbol}})
		}
	}
	rows = append(rows, c.observed(t.Diagnostics)...)
	rows = append(rows, absent...)
	columns := []column{
		{title: "quantity", weight: 3},
		{title: "estimate", number: true},
		{title: "± (95 %)", number: true},
		{title: "unit", weight: 1},
	}
	return c.table(title, columns, rows, halfWidth)
}

// observed are the figures of the hold as it was seen, none of which decides.
func (c *composer) observed(d result.Diagnostics) (rows []row) {
	add := func(title string, q si.Quantity, value, u *float64) {
		if value == nil {
			return
		}
		unit := c.f.Display.Unit(q)
		v, expanded, decimals := *value/unit.Factor, none, 0
		if u != nil {
			wide := 1.96 * *u / unit.Factor
			decimals = si.Decimals(wide)
			expanded = number(wide, decimals)
		} else {
			decimals = si.Decimals(math.Abs(v)) + 1
		}
		rows = append(rows, row{cells: []string{title, number(v, decimals), expanded, unit.Symbol}})
	}
	add("Decay rate, uncompensated", si.PressureRate, d.RawRate, nil)
	add("Temperature change in the hold", si.TemperatureDifference, d.TemperatureChange, d.TemperatureU)
	add("Noise of the pressure (k = 1)", si.PressureChange, d.Noise, nil)
	return rows
}

const budgetLines = 6

// budget is the uncertainty budget of the quantity that matters most.
func (c *composer) budget(of string, t result.Test) block {
	name, e, ok := budgeted(t)
	if !ok {
		return block{}
	}
	unit := c.unitOf(name)
	lines := append([]result.BudgetLine(nil), e.Budget...)
	sort.SliceStable(lines, func(i, k int) bool { return lines[i].U > lines[k].U })
	var total float64
	for _, l := range lines {
		total += l.U * l.U
	}
	decimals := si.Decimals(math.Sqrt(total)/unit.Factor) + 1
	line := func(source string, square float64) row {
		return row{cells: []string{source, number(math.Sqrt(square)/unit.Factor, decimals), number(100*square/total, 0)}}
	}
	var rows []row
	var rest float64
	for i, l := range lines {
		switch {
		case l.U <= 0:
		case i < budgetLines:
			rows = append(rows, line(l.Source, l.U*l.U))
		default:
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
		{title: "u (k = 1) [" + unit.Symbol + "]", number: true},
		{title: "share [%]", number: true},
	}
	return c.table("Uncertainty budget: "+c.titleOf(name, nil)+of, columns, rows, halfWidth)
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
