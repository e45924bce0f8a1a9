package result

import (
	"math"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq"
	"holdbench/daq/procedure"
)

// The rules of a vented zero.
const (
	// zerosFrom is from how long a hold on the zero is looked at before and
	// after, s: under pressure a zero moves by itself, and comes back, by more
	// than it drifts in a short hold.
	zerosFrom = 3600.0
	// zeroTime is of how many seconds of readings a zero is taken, shortestZero
	// of how many at the least, and fewestZeros of how many readings.
	zeroTime, shortestZero, fewestZeros = 30.0, 5.0, 10
	// zeroLevel is the level at which a zero that still moves is not taken.
	zeroLevel = 0.99
)

// zeros are the readings of a circuit's transducer while vented: at the
// recording's end, in the phase vented, and at its start, before anything was
// pumped. nil where either is missing: the hold is short, the vent was not
// measured and confirmed, or readings are missing, moving, or not near zero.
func (r *Run) zeros(h analysis.Hold) *decay.Zeros {
	if !(h.End-h.Start >= zerosFrom) {
		return nil
	}
	pressurise, vented := math.NaN(), math.NaN()
	for _, e := range r.Recording.Events {
		if e.Kind != daq.PhaseBegins || e.Circuit != "" && e.Circuit != h.Circuit {
			continue
		}
		switch procedure.Phase(e.Subject) {
		case procedure.Pressurise:
			if math.IsNaN(pressurise) {
				pressurise = e.At.Seconds()
			}
		case procedure.Vented:
			vented = e.At.Seconds()
		}
	}
	if !(pressurise < h.Start) || !(vented > h.End) {
		return nil
	}
	c := h.Trapped.Valid()
	if c.Len() == 0 {
		return nil
	}
	near := min(r.Procedure.SafePressure, zeroNear(h.Transducer, h.TestPressure))
	before, ok := zeroOf(firstQuiet(c.Window(c.Time[0], pressurise), h.Transducer.Resolution), h.Transducer, near)
	if !ok {
		return nil
	}
	last := c.Time[c.Len()-1]
	after, ok := zeroOf(c.Window(max(vented, last-zeroTime), last), h.Transducer, near)
	if !ok {
		return nil
	}
	return &decay.Zeros{Before: before, After: after}
}

// zeroNear is how far from zero a transducer may read while vented, Pa: three
// times what its zero may be wrong by, or half a per cent of the test pressure.
func zeroNear(t analysis.Transducer, testPressure float64) float64 {
	near := 3 * math.Hypot(t.Offset, t.Calibration)
	if testPressure > 0 {
		near = max(near, 0.005*testPressure)
	}
	return near
}

// firstQuiet is the beginning of a column as long as the reading stays where
// it is, less its last second, and no longer than a zero takes.
func firstQuiet(c series.Column, resolution float64) series.Column {
	c, _, _ = decay.WithoutSpikes(c)
	if c.Len() < fewestZeros {
		return series.Column{}
	}
	level, sigma := 0.0, 0.0
	for _, v := range c.Value[:fewestZeros] {
		level += v / fewestZeros
	}
	for i := 1; i < fewestZeros; i++ {
		d := c.Value[i] - c.Value[i-1]
		sigma += d * d / (2 * (fewestZeros - 1))
	}
	away := 6*math.Sqrt(sigma) + 1.5*resolution + 1e-6*math.Abs(level)
	end := c.Time[0] + zeroTime
	for i, v := range c.Value {
		if math.Abs(v-level) > away {
			end = min(end, c.Time[i]-1)
			break
		}
	}
	return c.Window(c.Time[0], end)
}

// zeroOf is the mean of vented readings near zero that stay where they are.
func zeroOf(c series.Column, t analysis.Transducer, near float64) (decay.Zero, bool) {
	c, _, _ = decay.WithoutSpikes(c)
	n := c.Len()
	if n < fewestZeros || c.Time[n-1]-c.Time[0] < shortestZero {
		return decay.Zero{}, false
	}
	line, err := fit.Line(c.Time, c.Value)
	if err != nil {
		return decay.Zero{}, false
	}
	middle := (c.Time[0] + c.Time[n-1]) / 2
	level, u := line.At(middle)
	memory := fit.MemoryOf(line.Residuals, 2)
	inflation, dof := memory.Inflation, memory.DegreesOfFreedom
	span := c.Time[n-1] - c.Time[0]
	moved, movedU := math.Abs(line.Coefficients[1])*span, math.Hypot(inflation*line.StdUncertainty(1)*span, t.Resolution)
	if !(math.Abs(level) <= near) || moved > uncertainty.T(zeroLevel, dof)*movedU {
		return decay.Zero{}, false
	}
	return decay.Zero{At: middle, Value: uncertainty.Estimate{
		Value: level, StdUncertainty: math.Hypot(inflation*u, t.Resolution/math.Sqrt(12)), DegreesOfFreedom: dof, Quantity: si.Pressure,
	}}, true
}
