package characterisation

import (
	"fmt"
	"math"

	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// Blank is what a run of the bench alone, plugged, says.
type Blank struct {
	Refused string
	// Noise is the standard deviation of one reading, Pa.
	Noise uncertainty.Estimate
	// Autocorrelation of successive readings.
	Autocorrelation float64
	// Drift is the pressure's steady loss beside temperature, Pa/s: above 0 for
	// a fall, as every loss.
	Drift Figure
	// Thermal is the bench's own thermal coefficient and lag, refused where
	// the temperature stood still.
	Thermal Thermal
	Curve   Curve
}

// mostBlankLoss is the share of its pressure that a plugged bench may lose in a
// minute.
//
// Source: the house's own rule.
const mostBlankLoss = 0.001

// mostBend is the autocorrelation of successive block means from which on they
// bend rather than scatter.
//
// Source: the house's own rule.
const mostBend = 0.8

// BlankOf finds noise, autocorrelation, drift and, where the temperature
// moved, the bench's thermal coefficient. Where it did not, the characterised
// coefficient compensates; without one the drift carries its doubt.
func BlankOf(r Record) Blank {
	readings, why := r.pressures(r.Start, r.End)
	if why != "" {
		return Blank{Refused: why}
	}
	out := Blank{Thermal: ThermalOf(r)}
	var smooth Curve
	if out.Thermal.Refused == "" {
		smooth = out.Thermal.Curve
		t := out.Thermal.Trend
		out.Drift = figure(t.Value, si.PressureRate, uncertainty.Budget{
			line("noise", t.StdUncertainty, t.DegreesOfFreedom, "beside temperature, found together with the thermal coefficient"),
		}, nil)
	} else {
		w, why := newSettlingWindow(lockedBefore(r), readings)
		if why != "" {
			return Blank{Refused: why}
		}
		f, err := w.lay(flatLaw{})
		if err != nil {
			return Blank{Refused: "no line can be laid through the readings"}
		}
		smooth = w.drawnMeasured(f)
		lines := f.lines(atFall, 1/w.duration())
		out.Drift = figure(f.Parameters[atFall]/w.duration(), si.PressureRate, lines, nil)
	}
	if leak := out.Drift.Value - 2*out.Drift.StdUncertainty; leak*60 > mostBlankLoss*math.Abs(mean(readings.Value)) {
		return Blank{Refused: fmt.Sprintf("the pressure falls by %.2g bar/min beside temperature, more than 0.1 %% of itself a minute: that is a leak, or settling that has not ended, and no plugged bench; find it, or begin later after locking", out.Drift.Value*60/1e5)}
	}
	if n := len(smooth.Time); n >= fewestReadings {
		bend := make([]float64, n)
		for i := range bend {
			bend[i] = smooth.Measured[i] - smooth.Fitted[i]
		}
		if fit.Autocorrelation(bend) > mostBend {
			return Blank{Refused: fmt.Sprintf("the pressure bends by ±%.2g bar about a steady loss: settling that has not ended, or a temperature that no thermometer shows, and no noise; begin later after locking (--window)", wave(bend)/1e5)}
		}
	}
	out.Curve = smooth
	out.noise(readings, smooth, r.Transducer.Resolution)
	return out
}

// noise looks at what single readings stray from the smooth curve.
func (out *Blank) noise(c series.Column, smooth Curve, resolution float64) {
	rest := make([]float64, c.Len())
	for i, t := range c.Time {
		rest[i] = c.Value[i] - interpolated(smooth.Time, smooth.Fitted, t)
	}
	rho := fit.Autocorrelation(rest)
	_, effective := fit.AR1Inflation(rho, len(rest))
	sigma := rootMeanSquare(rest, float64(len(rest)-1))
	dof := max(effective-1, 1)
	out.Autocorrelation = max(0, rho)
	out.Noise = uncertainty.Estimate{
		Value:          max(sigma, resolution/math.Sqrt(12)),
		StdUncertainty: sigma / math.Sqrt(2*dof), DegreesOfFreedom: dof, Quantity: si.PressureChange,
	}
}

// interpolated is the curve at t, along straight pieces, carried on outside.
func interpolated(xs, ys []float64, x float64) float64 {
	lo, hi := 0, len(xs)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; xs[mid] <= x {
			lo = mid
		} else {
			hi = mid
		}
	}
	return ys[lo] + (ys[hi]-ys[lo])*(x-xs[lo])/(xs[hi]-xs[lo])
}

// lockedBefore is the record with settling left out of it: it counts from its
// start.
func lockedBefore(r Record) Record {
	r.Locked = math.Nextafter(r.Start, math.Inf(-1))
	return r
}

// flatLaw is no settling at all; its amount, which does nothing, is held.
type flatLaw struct{}

func (flatLaw) starts(float64) []float64       { return nil }
func (flatLaw) taken(float64, float64) float64 { return 0 }
func (flatLaw) by(float64, float64) float64    { return 0 }
