package main

import (
	"fmt"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/result"
)

// limitText is one limit on one line of a terminal: estimate with its
// expanded uncertainty, limit, verdict.
func limitText(circuit string, l result.Limit, e result.Estimate, d si.Display, circuits int) string {
	row, _ := verdict.Lookup(l.Quantity)
	unit := d.Unit(row.Quantity)
	name := l.Quantity
	if circuits > 1 {
		name = circuit + " " + name
	}
	return fmt.Sprintf("%s %s, limit %s %s %s: %s", name, estimateText(e, row.Quantity, d),
		l.Bound, si.Format(unit.FromSI(l.Value), 3), unit.Symbol, l.Verdict)
}

// estimateText is an estimate ± expanded uncertainty (95 %) in display units.
func estimateText(e result.Estimate, q si.Quantity, d si.Display) string {
	if e.Value == nil || e.U == nil {
		return "unknown (" + e.Reason + ")"
	}
	unit := d.Unit(q)
	expanded := e.Expanded() / unit.Factor
	decimals := si.Decimals(expanded)
	return fmt.Sprintf("%s ± %s %s (95 %%)", si.Format(unit.FromSI(*e.Value), decimals), si.Format(expanded, decimals), unit.Symbol)
}
