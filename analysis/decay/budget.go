package decay

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// rateBudget lists what makes the slope uncertain, Pa/s, settling apart.
func (f *fitting) rateBudget() uncertainty.Budget {
	x, w := f.in.Transducer, f.line.slope
	budget := uncertainty.Budget{f.noiseLine(f.line.noise)}
	budget = append(budget, f.temperatureLines(w, 0)...)
	return append(budget,
		uncertainty.Line{
			Source: SourceTemperatureResolution, DegreesOfFreedom: math.Inf(1),
			StdUncertainty: f.sensitivity() * f.liquid.resolutionOf(w), Note: f.resolutionNote(),
		},
		uncertainty.Line{
			Source: SourceTemperatureDrift, DegreesOfFreedom: math.Inf(1),
			StdUncertainty: f.sensitivity() * f.in.Thermometer.Drift, Note: "thermometer's drift",
		},
		uncertainty.Line{
			Source: SourceGain, DegreesOfFreedom: math.Inf(1),
			StdUncertainty: x.Gain * math.Abs(weighted(w, f.p)), Note: "of the measured slope",
		},
		uncertainty.Line{
			Source: SourceDrift, DegreesOfFreedom: math.Inf(1),
			StdUncertainty: x.Drift, Note: "transducer's drift",
		},
		uncertainty.Line{
			Source: SourceResolution, DegreesOfFreedom: math.Inf(1),
			StdUncertainty: f.resolutionOfSlope(), Note: "transducer's resolution",
		},
	)
}

func (f *fitting) noiseLine(u float64) uncertainty.Line {
	return uncertainty.Line{
		Source: SourceNoise, StdUncertainty: u, DegreesOfFreedom: f.line.dof,
		Note: fmt.Sprintf("scatter about the line, × %.2f for autocorrelation", f.line.inflation),
	}
}

// temperatureLines lists what the liquid's temperature and the coefficient
// add to Σ g_i·p_c(t_i), resolution and drift apart; gStart is the weight on
// T_f(t0). None without a temperature.
func (f *fitting) temperatureLines(g []float64, gStart float64) uncertainty.Budget {
	if f.liquid == nil {
		return nil
	}
	b := f.coefficient()
	moved := math.Abs(f.liquid.sum(g, gStart))
	budget := uncertainty.Budget{
		{
			Source: SourceTemperatureReading, StdUncertainty: f.sensitivity() * f.liquid.noiseOf(g, gStart),
			DegreesOfFreedom: f.liquid.dof, Note: "scatter of the thermometer's readings",
		},
		{
			Source: SourceThermalCoefficient, StdUncertainty: b.StdUncertainty * moved,
			DegreesOfFreedom: b.DegreesOfFreedom, Note: f.coefficientNote(),
		},
		{
			Source: SourceTemperatureGain, StdUncertainty: f.sensitivity() * f.in.Thermometer.Gain * moved,
			DegreesOfFreedom: math.Inf(1), Note: "of the change of temperature",
		},
	}
	if f.upper == nil {
		return budget
	}
	return append(budget, uncertainty.Line{
		Source:           SourceLag,
		StdUncertainty:   f.sensitivity() * math.Abs(f.upper.sum(g, gStart)-f.lower.sum(g, gStart)) / 2,
		DegreesOfFreedom: f.lag().DegreesOfFreedom, Note: "characterised lag between probe and liquid",
	})
}

func (f *fitting) coefficientNote() string {
	if f.in.Known.ThermalCoefficient == nil {
		return "not characterised: nothing compensated, ± " + inBarPerKelvin(UnknownThermalCoefficient) + " times the change of temperature"
	}
	b := f.coefficient()
	return fmt.Sprintf("held at %s ± %s (k = 1)", inBarPerKelvin(b.Value), inBarPerKelvin(b.StdUncertainty))
}

func inBarPerKelvin(x float64) string {
	unit := si.DefaultDisplay.Unit(si.ThermalCoefficient)
	return si.Format(unit.FromSI(x), 2) + " " + unit.Symbol
}

func (f *fitting) resolutionNote() string {
	return fmt.Sprintf("thermometer's steps of %.3g K", f.liquid.resolution)
}

// resolutionOfSlope is what the pressure reading's steps leave in the slope.
func (f *fitting) resolutionOfSlope() float64 {
	sweep := slices.Max(f.p) - slices.Min(f.p)
	return stepsIn(f.line.slope, f.quantum, f.step, sweep)
}

// levelLines lists what makes a pressure uncertain besides noise, Pa; after
// is the time since t0.
func (f *fitting) levelLines(p, after float64) uncertainty.Budget {
	x := f.in.Transducer
	exact := math.Inf(1)
	return uncertainty.Budget{
		{Source: SourceOffset, StdUncertainty: x.Offset, DegreesOfFreedom: exact, Note: "transducer's zero"},
		{Source: SourceGain, StdUncertainty: x.Gain * math.Abs(p), DegreesOfFreedom: exact, Note: "of the pressure"},
		{Source: SourceDrift, StdUncertainty: x.Drift * after, DegreesOfFreedom: exact, Note: "transducer's drift since the hold began"},
		{Source: SourceResolution, StdUncertainty: f.quantum, DegreesOfFreedom: exact, Note: "transducer's resolution"},
		{Source: SourceCalibration, StdUncertainty: x.Calibration, DegreesOfFreedom: exact, Note: "certificate of the transducer"},
	}
}
