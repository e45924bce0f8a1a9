package verdict

import (
	"fmt"
	"math"
	"strings"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// Title is the limited quantity in words, e.g. "Decay rate".
func (l Limit) Title() string {
	if row, ok := Lookup(l.Quantity); ok {
		return row.Title
	}
	return fmt.Sprintf("unknown quantity %q", l.Quantity)
}

// Text is the limit as its author wrote it, or else in bar, min, mL and the
// like.
func (l Limit) Text() string {
	if l.Written != "" {
		return l.Written
	}
	return written(l.Value, math.Abs(l.Value)/10, l.quantity())
}

func (l Limit) quantity() si.Quantity {
	row, _ := Lookup(l.Quantity)
	return row.Quantity
}

// withinGuardBand says why a guarded decision was not possible.
func (l Limit) withinGuardBand(e uncertainty.Estimate) string {
	return fmt.Sprintf("%s %s (95 %%) is too close to the limit of %s to decide",
		l.Title(), WithExpanded(e), l.Text())
}

// tooUncertain says why the simple rule may not decide.
func (l Limit) tooUncertain(u, most float64) string {
	q := l.quantity().Difference()
	return fmt.Sprintf("%s: the expanded uncertainty %s is more than the %s that the simple rule allows",
		l.Title(), written(u, u, q), written(most, most/10, q))
}

// WithExpanded writes an estimate as "0.210 ± 0.050 bar/min", the expanded
// uncertainty (95 %) after the ±.
func WithExpanded(e uncertainty.Estimate) string {
	u := e.Expanded(simpleLevel)
	unit := si.DefaultDisplay.Unit(e.Quantity)
	decimals := si.Decimals(u / unit.Factor)
	return fmt.Sprintf("%s ± %s %s",
		si.Format(unit.FromSI(e.Value), decimals), si.Format(u/unit.Factor, decimals), unit.Symbol)
}

// written writes an SI value in the unit in which such values are shown by
// default, with the decimals that suit an uncertainty u (SI; 0: two).
func written(x, u float64, q si.Quantity) string {
	unit := si.DefaultDisplay.Unit(q)
	return strings.TrimSpace(si.Format(unit.FromSI(x), si.Decimals(u/unit.Factor)) + " " + unit.Symbol)
}

// Row is the limited quantity's row of Quantities; the zero row for an unknown
// one.
func (l Limit) Row() QuantityRow {
	row, _ := Lookup(l.Quantity)
	return row
}
