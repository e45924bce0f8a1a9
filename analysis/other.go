package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// quantityOtherRise is the rise of the circuit that is not held.
const quantityOtherRise = "other_circuit_rise"

// ReasonNoOtherCircuit is why a hold beside which nothing is recorded has no
// rise of another circuit.
const ReasonNoOtherCircuit = "no other circuit is recorded"

// Other is the circuit that is vented and closed while this one is held: what
// leaks across the body raises its pressure.
type Other struct {
	// Circuit is its name.
	Circuit string
	// Pressure is its trapped side's, gauge, Pa, over the whole recording.
	Pressure   series.Column
	Transducer Transducer
	// ThermalCoefficient is its own at the test pressure; nil if unknown.
	ThermalCoefficient *uncertainty.Estimate
	// VentedBelow is the pressure below which it counts as vented, Pa; NaN
	// when none is stated ("not checked").
	VentedBelow float64
}

// otherRise is by how much the pressure of the other circuit rose over the
// hold, Pa, referred to the liquid's temperature at t0: minus its drop, as
// decay.Fit gives it, settling included.
func (h Hold) otherRise() Quantity {
	if h.Other == nil {
		return absentRise(ReasonNoOtherCircuit)
	}
	o := *h.Other
	readings, _, _ := decay.WithoutSpikes(o.Pressure.Window(h.Start, h.End))
	if share := validShare(o.Pressure, h.Start, h.End, 0); !(share >= leastValid) {
		return absentRise(fmt.Sprintf("circuit %s has valid readings over %.0f %% of the hold only", o.Circuit, 100*share))
	}
	if start := readings.Value[0]; start >= o.VentedBelow {
		return absentRise(fmt.Sprintf("circuit %s was under pressure itself: %s, vented is below %s",
			o.Circuit, shown(start, si.Pressure), shown(o.VentedBelow, si.Pressure)))
	}
	in := h.input()
	in.Pressure, in.Transducer, in.Locked, in.Sink = o.Pressure, o.Transducer, math.NaN(), decay.Sink{}
	in.Known = decay.Characterised{ThermalCoefficient: o.softened(), Lag: h.Characterised.Lag}
	return decay.Fit(in, decay.Options{ExactTemperature: h.ExactTemperature}).Estimates[quantityDrop].Times(-1)
}

// softened is the thermal coefficient of a circuit without pressure: anything
// between none, where air and hoses take up what the liquid expands, and what
// it is at the test pressure.
//
// Source: JCGM 100:2008, 4.3.7, a rectangular distribution.
func (o Other) softened() *uncertainty.Estimate {
	if o.ThermalCoefficient == nil {
		return nil
	}
	half := math.Abs(o.ThermalCoefficient.Value) / 2
	return &uncertainty.Estimate{Value: half, StdUncertainty: half / math.Sqrt(3), DegreesOfFreedom: math.Inf(1), Quantity: si.ThermalCoefficient}
}

func absentRise(reason string) Quantity {
	nan := math.NaN()
	return Quantity{Absent: reason, Estimate: uncertainty.Estimate{
		Value: nan, StdUncertainty: nan, DegreesOfFreedom: nan, Quantity: si.PressureChange}}
}
