package analysis

import (
	"fmt"
	"math"
	"strings"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

const (
	// longestAdvised is how many times as long a hold is still advised.
	longestAdvised = 24.0
	// hopeless is the factor by which an uncertainty would have to fall from
	// which on nothing can be expected to settle it.
	hopeless = 30.0
)

// settle says in words what would settle an inconclusive decision: the
// budget's largest line and how far it would have to fall, and whether a
// longer hold would do.
func settle(h Hold, l verdict.Limit, e Quantity, d decay.Diagnostics) string {
	if e.Reciprocal != nil {
		e = atLimit(l, *e.Reciprocal)
	}
	if e.Absent != "" {
		return settleAbsent(h, l)
	}
	target := targetU(l, e)
	name := strings.ToLower(l.Title())
	if !(target > 0) || e.StdUncertainty > hopeless*target {
		return fmt.Sprintf("the %s lies at the limit itself: neither better instruments nor more time can be expected to settle it", name)
	}
	largest, ok := e.Budget.Largest()
	if !ok {
		return ""
	}
	text := remedy(h, l, e, d, largest, target)
	if minutes, ok := longer(h, l, e.Budget, target); ok {
		return text + fmt.Sprintf("; or a hold of %.0f min would do", minutes)
	}
	switch {
	case closedCycleHelps(h, largest):
		text += "; or a soak that ends at the temperature it began at, as whole days do"
	case timeHelps(l):
		text += "; a longer hold alone will not settle it"
	}
	return text
}

// closedCycleHelps: what the thermal coefficient leaves in the decay rate of a
// soak goes away with the difference between its temperatures at both ends.
func closedCycleHelps(h Hold, largest uncertainty.Line) bool {
	return h.End-h.Start >= soakFrom && largest.Source == decay.SourceThermalCoefficient
}

// atLimit is an estimate of τ from that of 1/τ, linear about the limit L: it
// lies as far from the limit, in its own uncertainty, as 1/τ from 1/L, and is
// finite where τ is not.
//
//	τ ≈ L − L²·(1/τ − 1/L)
func atLimit(l verdict.Limit, rate Quantity) Quantity {
	square := l.Value * l.Value
	out := Quantity{Estimate: rate.Estimate}
	out.Value, out.StdUncertainty, out.Quantity = 2*l.Value-square*rate.Value, square*rate.StdUncertainty, si.Time
	for _, line := range rate.Budget {
		line.StdUncertainty *= square
		out.Budget = append(out.Budget, line)
	}
	return out
}

// targetU is the standard uncertainty with which the same value would have
// been decided.
func targetU(l verdict.Limit, e Quantity) float64 {
	if l.Rule == verdict.Simple {
		return l.LargestU() / uncertainty.T(0.975, e.DegreesOfFreedom)
	}
	excess := l.Exceeded(e.Value)
	risk, fail := l.Risks()
	if excess > 0 {
		risk = fail
	}
	return math.Abs(excess) / uncertainty.T(1-risk, e.DegreesOfFreedom)
}

// remedy says how far the largest line would have to fall, or that it alone
// does not do.
func remedy(h Hold, l verdict.Limit, e Quantity, d decay.Diagnostics, largest uncertainty.Line, target float64) string {
	rest2 := e.StdUncertainty*e.StdUncertainty - largest.StdUncertainty*largest.StdUncertainty
	left2 := target*target - rest2
	if !(left2 > 0) {
		q := l.Row().Quantity.Difference()
		return fmt.Sprintf("the standard uncertainty of the %s, %s, would have to fall to %s; most of it is %s, but that alone does not do",
			strings.ToLower(l.Title()), fine(e.StdUncertainty, q), fine(target, q), largest.Source)
	}
	return fall(h, l, d, largest, math.Sqrt(left2)/largest.StdUncertainty)
}

// fall says in the largest line's own terms that it must fall to the given
// share of what it is.
func fall(h Hold, l verdict.Limit, d decay.Diagnostics, largest uncertainty.Line, share float64) string {
	known := h.Characterised
	change := math.Abs(d.LiquidRate) * (h.End - h.Start)
	steady := fmt.Sprintf("the liquid's temperature to change by less than %s over the hold (it changed by %s)",
		fine(share*change, si.TemperatureDifference), fine(change, si.TemperatureDifference))
	of := func(e *uncertainty.Estimate, q si.Quantity) string {
		return fmt.Sprintf("standard uncertainty of %s would have to fall to %s", fine(e.StdUncertainty, q), fine(share*e.StdUncertainty, q))
	}
	switch {
	case largest.Source == decay.SourceThermalCoefficient && known.ThermalCoefficient == nil:
		return "the thermal coefficient of this bench and model has to be characterised, or " + steady
	case largest.Source == decay.SourceThermalCoefficient:
		return "the thermal coefficient's " + of(known.ThermalCoefficient, si.ThermalCoefficient) + ", or " + steady
	case largest.Source == decay.SourceTemperatureResolution:
		return fmt.Sprintf("a thermometer resolving %s is needed (this one: %s)",
			fine(share*d.TemperatureResolution, si.TemperatureDifference), fine(d.TemperatureResolution, si.TemperatureDifference))
	case largest.Source == decay.SourceTemperatureReading:
		return fmt.Sprintf("the thermometer's noise would have to fall to %.2g of what it is", share)
	case largest.Source == decay.SourceLag && known.Lag != nil:
		return "the lag's " + of(known.Lag, si.Time)
	case largest.Source == decay.SourceStiffness && known.Stiffness != nil:
		return "the stiffness's " + of(known.Stiffness, si.Stiffness)
	case largest.Source == decay.SourceSettlingAmplitude && known.Settling != nil:
		return "the settling amplitude's " + of(&known.Settling.Amplitude, si.PressureChange)
	case largest.Source == decay.SourceSettlingTime && known.Settling != nil:
		return "the settling time constant's " + of(&known.Settling.TimeConstant, si.Time)
	case largest.Source == decay.SourceNoise:
		return fmt.Sprintf("the scatter of the pressure readings about the fit would have to fall to %.2g of what it is", share)
	}
	q := l.Row().Quantity.Difference()
	return fmt.Sprintf("the %s's part of the standard uncertainty, %s, would have to fall to %s",
		largest.Source, fine(largest.StdUncertainty, q), fine(share*largest.StdUncertainty, q))
}

// settleAbsent says what is missing.
func settleAbsent(h Hold, l verdict.Limit) string {
	switch {
	case h.Temperature.Len() == 0 && l.Quantity != quantityPressureEnd:
		return "record the liquid's temperature together with the pressure"
	case needsSettling(l) && h.Characterised.Settling == nil && h.Characterised.Creep == nil:
		return "characterise the settling of hoses and seals on this bench (a blank run or a reference unit), or limit decay_rate instead"
	case l.Quantity == quantityLeakFlow && h.Characterised.Stiffness == nil:
		return "characterise the stiffness of this bench and model"
	case l.Quantity == quantityTestPressure && !(h.TestPressure > 0):
		return "state the test pressure"
	}
	return ""
}

func needsSettling(l verdict.Limit) bool {
	switch l.Quantity {
	case quantityLeakRate, quantityTestPressure, quantityLeakFlow, "settling":
		return true
	}
	return false
}

// timeHelps: on these a longer hold narrows the interval and leaves the limit
// where it is.
func timeHelps(l verdict.Limit) bool {
	switch l.Quantity {
	case quantityDecayRate, quantityLeakRate, quantityTestPressure, quantityLeakFlow, quantityTimeConstant:
		return true
	}
	return false
}

// longer returns the length in whole minutes of a hold, at most
// longestAdvised times as long, that would bring the uncertainty down to
// target: a slope's noise falls with time to the power 1.5, the resolution's
// part with time; what belongs to rates does not fall.
//
// Source: standard deviation of a slope, √12·σ/(T·√n) (mark C).
func longer(h Hold, l verdict.Limit, b uncertainty.Budget, target float64) (minutes float64, ok bool) {
	if !timeHelps(l) {
		return 0, false
	}
	length := h.End - h.Start
	for minutes = math.Floor(length/60) + 1; minutes*60 <= longestAdvised*length; minutes++ {
		var sum float64
		for _, line := range b {
			u := line.StdUncertainty * math.Pow(length/(60*minutes), timePower(line.Source))
			sum += u * u
		}
		if sum <= target*target {
			return minutes, true
		}
	}
	return 0, false
}

func timePower(source string) float64 {
	switch source {
	case decay.SourceNoise, decay.SourceTemperatureReading:
		return 1.5
	case decay.SourceTemperatureResolution, decay.SourceResolution:
		return 1
	}
	return 0
}

// fine writes an SI value in the unit in which it is shown by default with two
// significant digits, fineIn in that of a display.
func fine(x float64, q si.Quantity) string { return fineIn(si.DefaultDisplay, x, q) }

func fineIn(d si.Display, x float64, q si.Quantity) string {
	unit := d.Unit(q)
	v := unit.FromSI(x)
	return strings.TrimSpace(si.Format(v, si.Decimals(math.Abs(v))) + " " + unit.Symbol)
}
