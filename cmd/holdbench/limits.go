package main

import (
	"fmt"
	"math"
	"strings"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/result"
)

// limitText is one limit on one line of a terminal: estimate with its
// expanded uncertainty, limit, verdict.
func limitText(circuit string, l result.Limit, e result.Estimate, d si.Display, circuits int) string {
	row, _ := verdict.Lookup(l.Quantity)
	name := l.Quantity
	if circuits > 1 {
		name = circuit + " " + name
	}
	if e.Value == nil && e.Reason == "" {
		e.Reason = strings.TrimPrefix(l.Reason, row.Title+": ")
	}
	return fmt.Sprintf("%s %s, limit %s %s: %s", name, estimateText(e, row.Quantity, d),
		l.Bound, limitValue(l, d.Unit(row.Quantity)), l.Verdict)
}

// limitValue is a limit in its display unit with as many digits as it has, and
// as written where those are more than a line has room for, or where the
// display unit makes another figure of it.
func limitValue(l result.Limit, unit si.Unit) string {
	x := unit.FromSI(l.Value)
	decimals := 3
	if digits := 3 - int(math.Floor(math.Log10(math.Abs(x)))); x != 0 && digits > decimals && !isShown(x, decimals) {
		decimals = digits
	}
	text := si.Format(x, decimals) + " " + unit.Symbol
	if !isShown(x, decimals) && l.Written != "" {
		text += " (" + l.Written + ")"
	}
	return text
}

// isShown reports whether x has no more than so many decimals.
func isShown(x float64, decimals int) bool {
	scale := math.Pow(10, float64(decimals))
	return math.Abs(math.Round(x*scale)/scale-x) <= 1e-6*math.Abs(x)
}

// estimateText is an estimate ± expanded uncertainty (95 %) in display units.
func estimateText(e result.Estimate, q si.Quantity, d si.Display) string {
	if e.Value == nil || e.U == nil {
		if e.Reason == "" {
			return "unknown"
		}
		return "unknown (" + e.Reason + ")"
	}
	unit := d.Unit(q)
	expanded := e.Expanded() / unit.Factor
	decimals := si.Decimals(expanded)
	return fmt.Sprintf("%s ± %s %s (95 %%)", si.Format(unit.FromSI(*e.Value), decimals), si.Format(expanded, decimals), unit.Symbol)
}
