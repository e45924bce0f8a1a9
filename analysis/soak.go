package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
)

const (
	// soakFrom is from how long on a hold is a soak, s.
	soakFrom = 6 * 3600.0
	// cycleShare is of the range that the temperature went through what its
	// end may lie away from its beginning before a soak is said not to close
	// its cycle.
	cycleShare = 0.1
)

// soakRemarks are what a reader should know of a hold of hours or days: where
// the temperature does not end as it began, what that costs.
func soakRemarks(h Hold, d decay.Diagnostics, curves decay.Curves) (notes []string) {
	if d.Segments > 1 {
		notes = append(notes, fmt.Sprintf("interrupted: one slope through %d segments, each with its own level; %s held of %s%s", d.Segments, seconds(d.Held), seconds(h.End-h.Start), leftOut(d)))
	}
	if d.Repumps >= 3 && !math.IsNaN(d.RepumpRate) {
		notes = append(notes, fmt.Sprintf("re-pumped %d times, every %s on the average", d.Repumps, seconds(d.RepumpInterval)))
	}
	if note := openCycle(h, d, curves); note != "" {
		notes = append(notes, note)
	}
	return notes
}

// leftOut says that the beginnings of segments are no part of the fit, where
// the unit was re-pumped.
func leftOut(d decay.Diagnostics) string {
	if d.Repumps == 0 {
		return ""
	}
	return ", of which the first readings after each re-pump are not fitted: the liquid is still cooling"
}

// openCycle tells of a soak that does not end at the temperature it began at.
func openCycle(h Hold, d decay.Diagnostics, curves decay.Curves) string {
	b := h.Characterised.ThermalCoefficient
	if !(h.End-h.Start >= soakFrom) || b == nil || len(curves.LiquidTemperature) == 0 {
		return ""
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, t := range curves.LiquidTemperature {
		low, high = min(low, t), max(high, t)
	}
	if !(math.Abs(d.TemperatureChange) > max(3*d.TemperatureChangeU, cycleShare*(high-low))) {
		return ""
	}
	cost := b.StdUncertainty * math.Abs(d.TemperatureChange) / (h.End - h.Start)
	return fmt.Sprintf("the soak does not end at the temperature it began at: %s apart; that leaves a standard uncertainty of %s in the decay rate from the thermal coefficient, of which a soak that ends at the temperature it began at is free",
		signed(d.TemperatureChange, si.TemperatureDifference), fine(cost, si.PressureRate))
}
