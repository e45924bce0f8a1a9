package decay

import (
	"fmt"
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// doubts lists what makes a function of a law uncertain, in its own unit.
// against is the function in whose spread the readings' resolution counts; of
// what settling adds besides, Pa as settled.until, nil is none.
func (f *fitting) doubts(rs responses, fn, against function, besides []float64) uncertainty.Budget {
	l, r := rs.law, rs.to(fn)
	budget := f.readingLines(f.noiseLine(l, l.noise(fn)), r, f.root()*l.spread(against))
	budget = append(append(budget, f.sinkLine(l, fn, r)), f.viscosityLine(l, fn, r)...)
	return f.withSettling(budget, r, besides)
}

// readingLines lists noise and what the instruments may be wrong by in a sum
// of readings; steps is √n times the root of its weights' squares.
func (f *fitting) readingLines(noise uncertainty.Line, r response, steps float64) uncertainty.Budget {
	x, exact := f.in.Transducer, math.Inf(1)
	budget := append(uncertainty.Budget{noise}, f.temperatureLines(r)...)
	budget = append(budget, shareLines(x.Shares, f.in.Start, f.in.End, 1, math.Abs(r.pressure), math.Abs(r.time))...)
	return append(budget,
		uncertainty.Line{
			Source: SourceTemperatureResolution, DegreesOfFreedom: exact,
			StdUncertainty: f.sensitivity() * f.liquid.resolutionOf(steps), Note: f.resolutionNote(),
		},
		uncertainty.Line{
			Source: SourceTemperatureDrift, DegreesOfFreedom: exact,
			StdUncertainty: f.sensitivity() * f.in.Thermometer.Drift * math.Abs(r.time), Note: "thermometer's drift",
		},
		uncertainty.Line{
			Source: SourceOffset, DegreesOfFreedom: exact,
			StdUncertainty: x.Offset * math.Abs(r.sum), Note: "transducer's zero",
		},
		uncertainty.Line{
			Source: SourceGain, DegreesOfFreedom: exact,
			StdUncertainty: x.Gain * math.Abs(r.pressure), Note: "of what was measured",
		},
		f.driftLine(r.time, "transducer's drift"),
		f.temperatureEffect(r.ambient),
		uncertainty.Line{
			Source: SourceResolution, DegreesOfFreedom: exact,
			StdUncertainty: math.Hypot(stepsIn(steps, f.quantum, f.step, f.sweep), f.quantum*r.sum), Note: "transducer's resolution",
		},
		uncertainty.Line{
			Source: SourceCalibration, DegreesOfFreedom: exact,
			StdUncertainty: x.Calibration * math.Abs(r.sum), Note: "certificate of the transducer",
		},
	)
}

// withSettling adds the lines of the characterised settling.
func (f *fitting) withSettling(budget uncertainty.Budget, r response, besides []float64) uncertainty.Budget {
	if f.settled == nil {
		return budget
	}
	return append(budget, f.settled.lines(added(r.settled, besides))...)
}

// sinkLine is what the sink's doubt adds: to a law that is laid to the
// pressure above the sink's it is an offset of the readings too.
func (f *fitting) sinkLine(l *law, fn function, r response) uncertainty.Line {
	by, sink := fn.bySink, f.in.Sink.Pressure
	if l.aboveSink {
		by -= r.sum
	}
	return uncertainty.Line{
		Source: SourceSink, DegreesOfFreedom: sink.DegreesOfFreedom,
		StdUncertainty: math.Abs(by) * sink.StdUncertainty, Note: f.in.Sink.source(),
	}
}

func (f *fitting) noiseLine(l *law, u float64) uncertainty.Line {
	own := f.ownScatter(l)
	if whole := l.std * l.inflation; whole > 0 {
		u *= own.std * own.inflation / whole
	}
	return uncertainty.Line{
		Source: SourceNoise, StdUncertainty: u, DegreesOfFreedom: own.dof,
		Note: fmt.Sprintf("scatter about the %s, × %.2f for autocorrelation", l.title, own.inflation),
	}
}

// temperatureLines lists what the liquid's temperature and the coefficient
// add, resolution and drift apart. None without a temperature.
func (f *fitting) temperatureLines(r response) uncertainty.Budget {
	if f.liquid == nil {
		return nil
	}
	moved, along, byLag := math.Abs(r.liquid), 0.0, 0.0
	if f.upper != nil {
		along, byLag = f.sensitivity()*r.alongLag(), f.sensitivity()*f.byLag(r)
	}
	// what of the lag's doubt goes with the coefficient's
	common := f.common() * along
	held := f.heldCoefficient()
	budget := uncertainty.Budget{
		{
			Source: SourceTemperatureReading, StdUncertainty: f.sensitivity() * f.liquid.noiseOf(r.shapes),
			DegreesOfFreedom: f.liquid.dof, Note: "scatter of the thermometer's readings",
		},
		{
			Source: SourceThermalCoefficient, StdUncertainty: math.Abs(held.StdUncertainty*r.liquid + common),
			DegreesOfFreedom: held.DegreesOfFreedom, Note: f.coefficientNote(),
		},
		{
			Source: SourceTemperatureGain, StdUncertainty: f.sensitivity() * f.in.Thermometer.Gain * moved,
			DegreesOfFreedom: math.Inf(1), Note: "of the change of temperature",
		},
		{
			Source: SourceGradient, StdUncertainty: f.sensitivity() * f.gradientOf(r),
			DegreesOfFreedom: math.Inf(1), Note: fmt.Sprintf("between what %d probes say", len(f.single)),
		},
	}
	if k := f.learned; k != nil {
		budget = append(budget, uncertainty.Line{
			Source: SourceLearnedCoefficient, StdUncertainty: k.noise * math.Abs(r.learned), DegreesOfFreedom: k.dof,
			Note: fmt.Sprintf("pressure's scatter in the %s that this hold says", shown(k.value, si.ThermalCoefficient)),
		})
	}
	if f.warmed != nil {
		budget = append(budget, f.warmed.lines(r, f.sensitivity())...)
	}
	budget = append(budget, f.ownLine(r)...)
	budget = append(budget, shareLines(f.in.Thermometer.Shares, f.in.Start, f.in.End, f.sensitivity(), moved, math.Abs(r.time))...)
	if u := f.liquid.startDoubt; u > 0 {
		budget = append(budget, uncertainty.Line{
			Source:           SourceLiquidStart,
			StdUncertainty:   f.sensitivity() * math.Abs(r.fades) * u,
			DegreesOfFreedom: math.Inf(1), Note: "what the probe did before the recording",
		})
	}
	if f.upper == nil {
		return budget
	}
	return append(budget, uncertainty.Line{
		Source:           SourceLag,
		StdUncertainty:   math.Sqrt(max(byLag*byLag-common*common, 0)),
		DegreesOfFreedom: f.lag.DegreesOfFreedom, Note: f.lagNote(),
	})
}

// common is the correlation between lag and coefficient where both are
// characterised: lines of a budget know nothing of each other, so what the two
// doubts have in common stands with the coefficient's and is taken off the
// lag's.
func (f *fitting) common() float64 {
	if f.in.Known.Lag == nil || f.in.Known.ThermalCoefficient == nil {
		return 0
	}
	return min(max(f.in.Known.LagCorrelation, -1), 1)
}

func (f *fitting) lagNote() string {
	if f.in.Known.Lag == nil {
		return fmt.Sprintf("lag between probe and liquid not characterised: ± %g s", float64(unknownLag))
	}
	note := "characterised lag between probe and liquid"
	if r := f.common(); r != 0 {
		note += fmt.Sprintf(", without what it has in common with the thermal coefficient (correlation %.2g)", r)
	}
	return note
}

func (f *fitting) coefficientNote() string {
	known, b := f.in.Known.ThermalCoefficient, f.coefficient()
	used := func(how string) string {
		note := fmt.Sprintf("%s %s (standard uncertainty %s)", how, shown(b.Value, si.ThermalCoefficient), shown(b.StdUncertainty, si.ThermalCoefficient))
		if r := f.common(); r != 0 && f.upper != nil {
			note += fmt.Sprintf(", with what the lag has in common with it (correlation %.2g)", r)
		}
		return note
	}
	switch {
	case known == nil && f.learned == nil:
		return "not characterised: nothing compensated, ± " + shown(UnknownThermalCoefficient, si.ThermalCoefficient) + " times the change of temperature"
	case known == nil:
		return used("learned from this hold:")
	case f.learned != nil:
		return used("from " + f.coefficientSource() + ":")
	}
	return used("held at")
}

// shown writes an SI value in the unit in which it is shown by default.
func shown(x float64, q si.Quantity) string {
	unit := si.DefaultDisplay.Unit(q)
	return si.Format(unit.FromSI(x), 2) + " " + unit.Symbol
}

func (f *fitting) resolutionNote() string {
	return fmt.Sprintf("thermometer's steps of %.3g K", f.liquid.resolution)
}

// root is √n of the readings.
func (f *fitting) root() float64 { return math.Sqrt(float64(len(f.t))) }

// levelLines lists what makes a measured pressure uncertain besides noise,
// Pa; after is the time since t0.
func (f *fitting) levelLines(p, after float64) uncertainty.Budget {
	x := f.in.Transducer
	exact := math.Inf(1)
	return append(shareLines(x.Shares, f.in.Start, f.in.End, 1, math.Abs(p), math.Abs(after)), uncertainty.Budget{
		{Source: SourceOffset, StdUncertainty: x.Offset, DegreesOfFreedom: exact, Note: "transducer's zero"},
		{Source: SourceGain, StdUncertainty: x.Gain * math.Abs(p), DegreesOfFreedom: exact, Note: "of the pressure"},
		f.driftLine(after, "transducer's drift since the hold began"),
		f.temperatureEffect(f.ambientChange(after)),
		{Source: SourceResolution, StdUncertainty: f.quantum, DegreesOfFreedom: exact, Note: "transducer's resolution"},
		{Source: SourceCalibration, StdUncertainty: x.Calibration, DegreesOfFreedom: exact, Note: "certificate of the transducer"},
	}...)
}
