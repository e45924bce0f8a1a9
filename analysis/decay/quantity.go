package decay

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// Quantity is an estimate, or the reason why there is none.
type Quantity struct {
	uncertainty.Estimate
	// Absent is empty where there is an estimate.
	Absent string
	// Budget is the estimate's uncertainty line by line.
	Budget uncertainty.Budget
	// Reciprocal is the estimate of 1/x of a quantity whose own interval may
	// reach infinity: there even where the quantity itself is absent; nil for
	// all others. Limits are decided on it.
	Reciprocal *Quantity
	// Widened is the factor on the half width of a coverage interval where
	// the interval must allow for more than the uncertainty: for looks taken
	// at a hold before it ended. 0 is 1.
	Widened float64
}

// Interval returns the two-sided coverage interval of the given level, widened
// where Widened says so; where there is a reciprocal that of the reciprocal,
// turned back, whose high end is +Inf when that reaches 0.
func (q Quantity) Interval(level float64) (low, high float64) {
	if q.Reciprocal == nil {
		low, high = q.Estimate.Interval(level)
		if q.Widened != 0 && low < high {
			low, high = q.Value-q.Widened*(q.Value-low), q.Value+q.Widened*(high-q.Value)
		}
		return low, high
	}
	slow, quick := q.Reciprocal.Interval(level)
	return timeOf(quick), timeOf(slow)
}

// timeOf turns 1/τ back.
func timeOf(rate float64) float64 {
	if rate > 0 {
		return 1 / rate
	}
	return math.Inf(1)
}

// estimated combines a budget; lines without a contribution are left out.
func estimated(value float64, q si.Quantity, budget uncertainty.Budget) Quantity {
	var lines uncertainty.Budget
	for _, l := range budget {
		if l.StdUncertainty != 0 {
			lines = append(lines, l)
		}
	}
	u, dof := lines.Combined()
	return Quantity{
		Estimate: uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: dof, Quantity: q},
		Budget:   lines,
	}
}

// absent is a quantity that cannot be given, with the reason.
func absent(q si.Quantity, reason string) Quantity {
	return Quantity{
		Estimate: uncertainty.Estimate{
			Value: math.NaN(), StdUncertainty: math.NaN(), DegreesOfFreedom: math.NaN(), Quantity: q,
		},
		Absent: reason,
	}
}

// scaled multiplies an estimate and its budget by a constant that is exactly
// known; the result is of quantity q.
func (e Quantity) scaled(by float64, q si.Quantity) Quantity {
	if e.Absent != "" {
		return absent(q, e.Absent)
	}
	out := e
	if e.Reciprocal != nil {
		turned := e.Reciprocal.scaled(1/by, e.Reciprocal.Quantity)
		out.Reciprocal = &turned
	}
	out.Value *= by
	out.StdUncertainty *= math.Abs(by)
	out.Quantity = q
	out.Budget = nil
	for _, l := range e.Budget {
		l.StdUncertainty *= math.Abs(by)
		out.Budget = append(out.Budget, l)
	}
	return out
}

// Times multiplies an estimate, its interval and its budget by a constant that
// is exactly known.
func (e Quantity) Times(k float64) Quantity { return e.scaled(k, e.Quantity) }

// The lines of a budget by name.
const (
	SourceNoise                 = "noise"
	SourceTemperatureReading    = "temperature reading"
	SourceTemperatureResolution = "temperature resolution"
	SourceTemperatureGain       = "temperature gain"
	SourceTemperatureDrift      = "temperature drift"
	SourceThermalCoefficient    = "thermal coefficient"
	SourceLag                   = "lag"
	SourceLearnedCoefficient    = "thermal coefficient from this hold"
	SourceGradient              = "temperature gradient"
	SourceWarming               = "warming"
	SourceWarmingTime           = "warming time constant"
	SourceLiquidStart           = "liquid's start temperature"
	SourceLiquidResponse        = "liquid's response"
	SourceGain                  = "transducer gain"
	SourceOffset                = "transducer offset"
	SourceDrift                 = "transducer drift"
	SourceResolution            = "transducer resolution"
	SourceCalibration           = "calibration"
	SourceSettlingAmplitude     = "settling amplitude"
	SourceSettlingTime          = "settling time constant"
	SourceCreep                 = "creep"
	SourceViscosity             = "viscosity"
	SourceStiffness             = "stiffness"
	SourceSink                  = "sink pressure"
	SourceLaw                   = "decay law"
	SourceToleranceClass        = "thermometer's tolerance class"
	SourceColdJunction          = "cold junction"
	SourceExcitation            = "excitation"
	SourceInterpolation         = "between a table's points"
)
