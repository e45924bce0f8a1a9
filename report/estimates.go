package report

import (
	"math"
	"sort"
	"strings"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/figure"
	"holdbench/report/lettering"
	"holdbench/report/result"
)

// figures are the further estimates beside the uncertainty budget, a band for
// each test.
func (c *composer) figures() (bands []band) {
	for _, circuit := range c.f.Result.Circuits {
		of := c.ofCircuit(circuit.Name)
		for _, t := range circuit.Tests {
			bands = append(bands, pair(c.estimates("Further estimates"+of, t), c.budget(of, t), between))
		}
	}
	return bands
}

func (c *composer) estimates(title string, t result.Test) block {
	limited := map[string]bool{}
	for _, l := range t.Limits {
		limited[l.Quantity] = true
	}
	var rows []row
	for _, q := range verdict.Quantities {
		e, ok := t.Estimates[q.Name]
		if !ok || e.Value == nil || limited[q.Name] {
			continue
		}
		s := c.show(q.Name, e)
		rows = append(rows, row{cells: []string{q.Title, s.valueText(), s.expandedText(), s.unit.Symbol}})
	}
	rows = append(rows, c.observed(t.Diagnostics)...)
	columns := []column{
		{title: "quantity", weight: 3},
		{title: "estimate", kind: numbers},
		{title: "±\u00a0(95\u00a0%)", kind: numbers},
		{title: "unit", kind: tight},
	}
	return c.table(title, columns, rows, halfWidth)
}

// absent names the estimates that could not be given, each with its reason.
func (c *composer) absent() block {
	var b block
	for _, circuit := range c.f.Result.Circuits {
		for _, t := range circuit.Tests {
			var parts []string
			for _, q := range verdict.Quantities {
				if e, ok := t.Estimates[q.Name]; ok && e.Value == nil {
					parts = append(parts, strings.ToLower(q.Title)+" ("+strings.TrimRight(orNone(e.Reason), ".")+")")
				}
			}
			if len(parts) == 0 {
				continue
			}
			text := "Not given" + c.ofCircuit(circuit.Name) + ": " + strings.Join(parts, "; ") + "."
			b.body = append(b.body, c.paragraph(lettering.Regular(sizeTiny), figure.Soft, sizeTiny+2, text, textWidth)...)
		}
	}
	return b
}

// ofCircuit names the circuit where there are several.
func (c *composer) ofCircuit(name string) string {
	if len(c.f.Result.Circuits) > 1 {
		return ", circuit " + name
	}
	return ""
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
			decimals = si.Decimals(math.Abs(v))
		}
		rows = append(rows, row{cells: []string{title, number(v, decimals), expanded, unit.Symbol}})
	}
	add("Decay rate, uncompensated", si.PressureRate, d.RawRate, nil)
	add("Temperature change in the hold", si.TemperatureDifference, d.TemperatureChange, d.TemperatureU)
	add("Noise of the pressure (k = 1)", si.PressureChange, d.Noise, nil)
	return rows
}

// The lines that a budget shows by name: so many at most, and none with a
// smaller share than this; the others are added up.
const (
	budgetLines = 6
	budgetShare = 0.002
)

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
	return c.table("Uncertainty budget: "+strings.ToLower(c.titleOf(name, nil))+" ["+unit.Symbol+"]"+of, columns, rows, halfWidth)
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
