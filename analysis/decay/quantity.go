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

// The lines of a budget by name.
const (
	SourceNoise                 = "noise"
	SourceTemperatureReading    = "temperature reading"
	SourceTemperatureResolution = "temperature resolution"
	SourceTemperatureGain       = "temperature gain"
	SourceTemperatureDrift      = "temperature drift"
	SourceThermalCoefficient    = "thermal coefficient"
	SourceLag                   = "lag"
	SourceGain                  = "transducer gain"
	SourceOffset                = "transducer offset"
	SourceDrift                 = "transducer drift"
	SourceResolution            = "transducer resolution"
	SourceCalibration           = "calibration"
	SourceSettlingAmplitude     = "settling amplitude"
	SourceSettlingTime          = "settling time constant"
	SourceStiffness             = "stiffness"
)
