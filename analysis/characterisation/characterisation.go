// Package characterisation knows how a bench's own figures come out of runs
// made for them: thermal coefficient and lag from a run with a reference unit
// while the temperature moves, stiffness from known volume steps, settling and
// creep from what follows locking, noise and drift from a bench that is
// plugged. It knows nothing of files, limits or verdicts.
//
// Conventions: s, Pa gauge, K, m³; drift, settling and leak are losses, positive
// for a falling pressure. Figures that come out of one run carry
// their correlation. What the run cannot say is refused in plain words, with
// what to do.
//
// Sources:
//
//	[1] JCGM 100:2008 (GUM): 5.1 propagation, G.4 degrees of freedom.
//	[2] Fuller, W. A., Measurement Error Models, Wiley 1987: least squares with
//	    errors in the regressor (mark M).
//	[3] Mandel, J. and Paule, R. C., Anal. Chem. 42 (1970) 1194; Paule, R. C. and
//	    Mandel, J., J. Res. NBS 87 (1982) 377: weighted means with a variance
//	    between runs (mark M).
//	[4] Birge, R. T., Phys. Rev. 40 (1932) 207: whether runs agree (mark M).
//	[5] Merritt, H. E., Hydraulic Control Systems, Wiley 1967: effective bulk
//	    modulus with entrained air (mark M).
//
// Caveats: a reference unit's own leak is taken as steady through the run; a
// stiffness is that of the pressures at which the steps were made; warming
// after pressurising looks like settling here and is not told from it.
package characterisation

import (
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// Record is one circuit over the window of one run. Times in s since the
// start of the recording, columns over the whole of it, SI.
type Record struct {
	// Source names the run, for pages.
	Source     string
	Start, End float64
	// Locked is the instant of locking; NaN when not known.
	Locked                float64
	Pressure, Temperature series.Column
	Transducer            decay.Transducer
	Thermometer           decay.Thermometer
	// Known is what is known already of the bench: stiffness and settling are
	// compensated for temperature by it.
	Known decay.Characterised
}

// Figure is one characterised figure.
type Figure struct {
	uncertainty.Estimate
	Budget uncertainty.Budget
	// Common is the part of the standard uncertainty that the same instruments
	// bring into every run, so that averaging does not lessen it.
	Common float64
}

// own returns the figure with what differs from run to run alone.
func (f Figure) own() uncertainty.Estimate {
	e := f.Estimate
	e.StdUncertainty = math.Sqrt(max(0, e.StdUncertainty*e.StdUncertainty-f.Common*f.Common))
	return e
}

// figure combines a budget; what is in common brings the lines named so.
func figure(value float64, q si.Quantity, own, common uncertainty.Budget) Figure {
	all := append(append(uncertainty.Budget{}, own...), common...)
	u, dof := all.Combined()
	shared, _ := common.Combined()
	return Figure{
		Estimate: uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: dof, Quantity: q},
		Budget:   all, Common: shared,
	}
}

// exactly is the degrees of freedom of what is taken as known.
var exactly = math.Inf(1)

func line(source string, u, dof float64, note string) uncertainty.Line {
	return uncertainty.Line{Source: source, StdUncertainty: math.Abs(u), DegreesOfFreedom: dof, Note: note}
}

// Curve is a curve for a figure: what was measured and what was fitted, at
// Time in s since the start of the recording.
type Curve struct {
	Time, Measured, Fitted []float64
}
