package simbench

import (
	"math"
	"math/rand/v2"
)

// TrialSensor is what stands between a quantity and its reading in a Trial.
// Noise is made of a white part, a correlated part (first-order
// autoregressive) and a slow part (the sum of such processes with correlation
// times an octave and a half apart, as 1/f noise is).
type TrialSensor struct {
	// White, Correlated and Slow are standard deviations in the quantity's SI
	// unit; CorrelationTime belongs to the second, s.
	White, Correlated, Slow float64
	CorrelationTime         float64
	// Gain is the relative error of what is read, of changes about Zero.
	Gain, Zero float64
	// Offset, and Drift per second since the hold's start.
	Offset, Drift float64
	// Step of the reading; 0: none.
	Step float64
}

// slowTimes are the correlation times of the slow part, s.
var slowTimes = [...]float64{3, 9, 27, 81}

// read turns true values into readings, in place. len(t) == len(v).
func (x TrialSensor) read(t, v []float64, start float64, draw *rand.Rand) {
	correlated := wander{sigma: x.Correlated, tau: x.CorrelationTime}
	var slow [len(slowTimes)]wander
	for k, tau := range slowTimes {
		slow[k] = wander{sigma: x.Slow / math.Sqrt(float64(len(slowTimes))), tau: tau}
	}
	for i := range v {
		dt := math.Inf(1)
		if i > 0 {
			dt = t[i] - t[i-1]
		}
		noise := x.White*draw.NormFloat64() + correlated.next(dt, draw)
		for k := range slow {
			noise += slow[k].next(dt, draw)
		}
		v[i] = x.rounded(v[i] + x.Gain*(v[i]-x.Zero) + x.Offset + x.Drift*(t[i]-start) + noise)
	}
}

func (x TrialSensor) rounded(v float64) float64 {
	if x.Step <= 0 {
		return v
	}
	return math.Round(v/x.Step) * x.Step
}

// wander is a stationary first-order autoregressive process in continuous
// time: standard deviation sigma, correlation time tau in s.
type wander struct{ sigma, tau, at float64 }

func (w *wander) next(dt float64, draw *rand.Rand) float64 {
	if w.sigma == 0 {
		return 0
	}
	keep := 0.0
	if w.tau > 0 {
		keep = math.Exp(-dt / w.tau)
	}
	w.at = keep*w.at + w.sigma*math.Sqrt(1-keep*keep)*draw.NormFloat64()
	return w.at
}

// FaultKind is what a sensor may do wrong.
type FaultKind uint8

// Spikes are single readings far off; a drop-out gives no readings for a
// while, a stuck spell the same one; a jump shifts all readings from then on.
const (
	Spikes FaultKind = iota
	DropOut
	StuckSpell
	Jump
)

// SensorFault is a fault of one of the sensors.
type SensorFault struct {
	Kind FaultKind
	// OfTemperature: the temperature sensor's, otherwise the pressure sensor's.
	OfTemperature bool
	// At is when it begins, s since the recording's start, and For how long it
	// lasts.
	At, For float64
	// Size of a spike or jump in the quantity's SI unit, and the share of
	// readings that are spikes.
	Size, Share float64
}

func (f SensorFault) apply(out Tried, draw *rand.Rand) {
	v := out.PressureReading
	if f.OfTemperature {
		v = out.TemperatureReading
	}
	last := math.NaN()
	for i, t := range out.Time {
		switch {
		case t < f.At:
			last = v[i]
		case f.Kind == Jump:
			v[i] += f.Size
		case t > f.At+f.For:
		case f.Kind == DropOut:
			v[i] = math.NaN()
		case f.Kind == StuckSpell:
			v[i] = last
		case f.Kind == Spikes && draw.Float64() < f.Share:
			v[i] += f.Size * (2*float64(draw.IntN(2)) - 1) * (0.5 + draw.Float64())
		}
	}
}
