package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/report/result"
)

// figures are the further estimates beside the uncertainty budget, a band for
// each test.
func (c *composer) figures() (bands []band) {
	for _, circuit := range c.decidingFirst() {
		of := c.ofCircuit(circuit.Name)
		for _, t := range circuit.Tests {
			bands = append(bands, c.pair(c.estimates("Further estimates"+of, t), c.budget(of, t), between))
		}
	}
	return bands
}

// decidingFirst are the circuits, those that have the unit's verdict first.
func (c *composer) decidingFirst() []result.Circuit {
	circuits := slices.Clone(c.f.Result.Circuits)
	other := func(circuit result.Circuit) int {
		if circuit.Verdict == c.f.Result.Verdict {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(circuits, func(a, b result.Circuit) int { return other(a) - other(b) })
	return circuits
}

func (c *composer) estimates(title string, t result.Test) block {
	limited := map[string]bool{}
	for _, l := range t.Limits {
		limited[l.Quantity] = true
	}
	var rows []row
	for _, q := range verdict.Quantities {
		e, ok := t.Estimates[q.Name]
		if !ok || e.Value == nil {
			continue
		}
		if !limited[q.Name] {
			rows = append(rows, c.estimateRow(q.Name, e))
		}
		if q.Name == "leak_flow" {
			rows = append(rows, c.inDrops(e))
		}
		if q.Name == "time_constant" {
			rows = append(rows, c.halfLife(e))
		}
	}
	rows = append(rows, c.observed(t)...)
	return c.table(title, estimateColumns, rows, c.halfWidth)
}

var estimateColumns = []column{
	{title: "quantity", weight: 3},
	{title: "estimate", kind: numbers},
	{title: "±\u00a0(95\u00a0%)", kind: numbers},
	{title: "unit", kind: tight},
}

func (c *setter) estimateRow(name string, e result.Estimate) row {
	s := c.show(name, e)
	return row{cells: []string{c.titleOf(name, nil), s.valueText(), s.expandedText(), s.unit.Symbol}}
}

// halfLife is the time in which an exponential law halves what is left of the
// pressure, τ·ln 2.
func (c *setter) halfLife(tau result.Estimate) row {
	half := tau
	half.Value, half.U = scaled(tau.Value, math.Ln2), scaled(tau.U, math.Ln2)
	r := c.estimateRow("time_constant", half)
	r.cells[0] = "Half-life"
	return r
}

// inDrops is a leak flow in drops, with the drop factor.
func (c *setter) inDrops(flow result.Estimate) row {
	unit := si.Unit{Symbol: "drops/min", Factor: 1e-6 / 60 / si.DropsPerMillilitre}
	in := c.show("leak_flow", flow).in(unit)
	return row{cells: []string{
		fmt.Sprintf("Leak flow, %g\u00a0drops/mL", si.DropsPerMillilitre), in.valueText(), in.expandedText(), unit.Symbol,
	}}
}

func scaled(x *float64, factor float64) *float64 {
	if x == nil {
		return nil
	}
	y := *x * factor
	return &y
}

// absent names the laws, and the estimates that could not be given, each with its reason.
func (c *composer) absent() block {
	var b block
	for _, s := range c.laws() {
		b.body = append(b.body, c.aside(s).body...)
	}
	for _, circuit := range c.f.Result.Circuits {
		for _, t := range circuit.Tests {
			parts := absences(t)
			if len(parts) == 0 {
				continue
			}
			text := "Not given" + c.ofCircuit(circuit.Name) + ": " + strings.Join(parts, "; ") + "."
			b.body = append(b.body, c.aside(text).body...)
		}
	}
	return b
}

// lawNames are the decay laws in words.
var lawNames = map[string]string{"line": "straight line", "exponential": "exponential towards the sink's pressure", "orifice": "orifice's parabola towards the sink's pressure"}

// laws says which law was laid through each hold and why, and what the course
// speaks for.
func (c *composer) laws() (sentences []string) {
	for _, circuit := range c.f.Result.Circuits {
		for _, t := range circuit.Tests {
			law := t.Diagnostics.Law
			if law == "" {
				continue
			}
			if name, ok := lawNames[law]; ok {
				law = name
			}
			if why := t.Diagnostics.LawReason; why != "" { // which names the law itself
				law = why
			}
			sentences = append(sentences, fullSentence("law"+c.ofCircuit(circuit.Name)+": "+law))
			if course := t.Diagnostics.Course; course != nil && len(course.Words) > 0 {
				sentences = append(sentences, fullSentence("course"+c.ofCircuit(circuit.Name)+": "+strings.Join(course.Words, "; ")))
			}
		}
	}
	return sentences
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
		unit, wide := c.display.Unit(q), none
		if expanded > 0 {
			wide = number(expanded/unit.Factor, decimals)
		}
		rows = append(rows, row{cells: []string{title, number(*value/unit.Factor, decimals), wide, unit.Symbol}})
	}
	// decimals at which a figure in SI has two digits in its display unit
	digits := func(x float64, q si.Quantity) int { return si.Decimals(math.Abs(x) / c.display.Unit(q).Factor) }

	if d.RawRate != nil {
		decimals := digits(*d.RawRate, si.PressureRate)
		if s := c.show("decay_rate", t.Estimates["decay_rate"]); s.known {
			decimals = s.decimals
		}
		add("Decay rate, uncompensated", si.PressureRate, d.RawRate, 0, decimals)
	}
	for _, r := range courseRows(d.Course) {
		add(r.title, r.quantity, r.value, r.expanded, digits(r.expanded, r.quantity))
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
