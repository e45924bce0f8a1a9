package report

import (
	"math"
	"sort"
	"strings"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
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
	rows = append(rows, c.observed(t)...)
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
			parts := absences(t)
			if len(parts) == 0 {
				continue
			}
			text := "Not given" + c.ofCircuit(circuit.Name) + ": " + strings.Join(parts, "; ") + "."
			b.body = append(b.body, c.paragraph(lettering.Regular(sizeTiny), figure.Soft, sizeTiny+2, text, textWidth)...)
		}
	}
	return b
}

// absences names what has no estimate; what lacks it for the same reason stands
// together.
func absences(t result.Test) (parts []string) {
	var reasons []string
	names := map[string][]string{}
	for _, q := range verdict.Quantities {
		e, ok := t.Estimates[q.Name]
		if !ok || e.Value != nil {
			continue
		}
		reason := strings.TrimRight(orNone(e.Reason), ".")
		if len(names[reason]) == 0 {
			reasons = append(reasons, reason)
		}
		names[reason] = append(names[reason], strings.ToLower(q.Title))
	}
	for _, reason := range reasons {
		parts = append(parts, strings.Join(names[reason], ", ")+" ("+reason+")")
	}
	return parts
}

// ofCircuit names the circuit where there are several.
func (c *composer) ofCircuit(name string) string {
	if len(c.f.Result.Circuits) > 1 {
		return ", circuit " + name
	}
	return ""
}

// observed are the figures of the hold as it was seen, none of which decides.
func (c *composer) observed(t result.Test) (rows []row) {
	d := t.Diagnostics
	add := func(title string, q si.Quantity, value *float64, expanded float64, decimals int) {
		if value == nil {
			return
		}
		unit, wide := c.f.Display.Unit(q), none
		if expanded > 0 {
			wide = number(expanded/unit.Factor, decimals)
		}
		rows = append(rows, row{cells: []string{title, number(*value/unit.Factor, decimals), wide, unit.Symbol}})
	}
	// decimals at which a figure in SI has two digits in its display unit
	digits := func(x float64, q si.Quantity) int { return si.Decimals(math.Abs(x) / c.f.Display.Unit(q).Factor) }

	if d.RawRate != nil {
		decimals := digits(*d.RawRate, si.PressureRate)
		if s := c.show("decay_rate", t.Estimates["decay_rate"]); s.known {
			decimals = s.decimals
		}
		add("Decay rate, uncompensated", si.PressureRate, d.RawRate, 0, decimals)
	}
	if d.TemperatureChange != nil {
		expanded := math.Abs(*d.TemperatureChange) // no uncertainty: two digits of the figure
		if d.TemperatureU != nil {
			expanded = uncertainty.T((1+level)/2, math.Inf(1)) * *d.TemperatureU
		}
		decimals := digits(expanded, si.TemperatureDifference)
		if d.TemperatureU == nil {
			expanded = 0
		}
		add("Temperature change in the hold", si.TemperatureDifference, d.TemperatureChange, expanded, decimals)
	}
	if d.Noise != nil {
		add("Noise of the pressure (k = 1)", si.PressureChange, d.Noise, 0, digits(*d.Noise, si.PressureChange))
	}
	return rows
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
