package analysis

import (
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/uncertainty"
)

// Prospect is what is known before a test of what its hold will be like.
// Figures that are not known are 0, pointers nil.
type Prospect struct {
	// Duration of the hold, s; SinceLock is the time from locking to its
	// start.
	Duration, SinceLock float64
	// TestPressure in Pa gauge, where the hold starts.
	TestPressure float64
	// Noise is the standard deviation of one pressure reading, Pa, Readings
	// their number in the hold, Inflation the factor for autocorrelation
	// (under 1: 1).
	Noise     float64
	Readings  int
	Inflation float64
	// TemperatureNoise and TemperatureReadings likewise, K.
	TemperatureNoise    float64
	TemperatureReadings int
	// NoTemperature: no probe stands for the liquid.
	NoTemperature bool
	// TemperatureChange is how much the liquid's temperature is expected to
	// change over the hold, K.
	TemperatureChange float64
	// Swing is the change as it was stated, K, for a hold of SwingOver, s; where
	// that is 0, it is TemperatureChange, for this hold. Lasting says what holds
	// of other lengths see of it.
	Swing, SwingOver float64
	// Transducer and Thermometer as they enter the budget.
	Transducer  Transducer
	Thermometer Thermometer
	Known       decay.Characterised

	// whole is the length of the hold that this is the beginning of, s; 0:
	// the hold itself.
	whole float64
}

// until is the hold as far as it has come at a time since t0, s.
func (p Prospect) until(t float64) Prospect {
	whole, change := p.Duration, p.TemperatureChange
	p = p.Lasting(t, true)
	p.whole, p.TemperatureChange = whole, change
	return p
}

// Lasting is the same hold of another length, in s > 0: as many readings a
// second. The temperature's swing is stated for a length of hold: a shorter one
// sees of it what the same mean rate makes in its time, a longer one as much if
// the temperature is steady then, otherwise what the rate makes. It does not
// matter by way of which lengths a length is reached.
func (p Prospect) Lasting(duration float64, steady bool) Prospect {
	longer := duration / p.Duration
	p.Swing, p.SwingOver = p.stated()
	p.Readings = int(float64(p.Readings) * longer)
	p.TemperatureReadings = int(float64(p.TemperatureReadings) * longer)
	p.TemperatureChange = p.Swing
	if !steady || duration < p.SwingOver {
		p.TemperatureChange *= duration / p.SwingOver
	}
	p.Duration = duration
	return p
}

// stated is the swing, K, and the length of hold that it is stated for, s.
func (p Prospect) stated() (swing, over float64) {
	if p.SwingOver > 0 {
		return p.Swing, p.SwingOver
	}
	return p.TemperatureChange, p.Duration
}

// gridPoints stand for the readings of a hold, however many there are.
const gridPoints = 1024

// fewReadings: what is said of a reading where their number is not known
// holds for either end of the hold: √(2)·σ for a difference, which is the
// slope through six readings.
const fewReadings = 6

// expected is the hold of a prospect on a grid: what the pressure and the
// liquid's temperature will do.
type expected struct {
	Prospect
	// t is the time since t0, s; warmer the liquid's temperature less that at
	// t0, K; quicker its rate less that at t0, K/s.
	t, warmer, quicker []float64
	// slope and level are the weights with which a line's slope and its value
	// at t0 come from the readings.
	slope, level []float64
}

// expect lays the grid. The temperature is taken to change ever more slowly
// and to stand still at the hold's end, so that a lag matters, apart from the
// liquid's own warmth after pressurising:
//
//	T − T(t0) = ΔT·(2x − x²),  x = t/duration
//
// whose line has the slope ΔT/duration.
func (p Prospect) expect() expected {
	e := expected{Prospect: p}
	step, whole := p.Duration/gridPoints, p.Duration
	if p.whole > 0 {
		whole = p.whole
	}
	middle := p.Duration / 2
	// Σ(t−t̄)² of the grid's middles.
	square := step * step * gridPoints * (gridPoints*gridPoints - 1) / 12
	for i := range gridPoints {
		t := step * (float64(i) + 0.5)
		x := min(t/whole, 1)
		e.t = append(e.t, t)
		e.warmer = append(e.warmer, p.TemperatureChange*(2*x-x*x)+p.warmth(t))
		e.quicker = append(e.quicker, -2*p.TemperatureChange/whole*x)
		e.slope = append(e.slope, (t-middle)/square)
		e.level = append(e.level, 1/float64(gridPoints)-middle*(t-middle)/square)
	}
	return e
}

// warmth is what is characterised of the liquid's own warmth after
// pressurising, less that at t0, K.
func (p Prospect) warmth(t float64) float64 {
	w := p.Known.Warming
	if w == nil || !(w.TimeConstant.Value > 0) {
		return 0
	}
	return w.Amplitude.Value * math.Exp(-p.SinceLock/w.TimeConstant.Value) * math.Expm1(-t/w.TimeConstant.Value)
}

// at returns the weights of the line's value at a time since t0.
func (e expected) at(t float64) []float64 {
	out := make([]float64, gridPoints)
	for i := range out {
		out[i] = e.level[i] + t*e.slope[i]
	}
	return out
}

// scaled returns k·g.
func scaled(g []float64, k float64) []float64 {
	out := make([]float64, len(g))
	for i, v := range g {
		out[i] = k * v
	}
	return out
}

func weighted(g, y []float64) (sum float64) {
	for i, w := range g {
		sum += w * y[i]
	}
	return sum
}

// pressures are what the transducer will show while the trapped side loses at
// a steady rate, Pa/s.
func (e expected) pressures(rate float64) []float64 {
	out := make([]float64, gridPoints)
	for i, t := range e.t {
		out[i] = e.TestPressure - rate*t + e.coefficient().Value*e.warmer[i]
	}
	return out
}

// coefficient is B as held, and what stands for one that is not known.
func (e expected) coefficient() uncertainty.Estimate {
	if b := e.Known.ThermalCoefficient; b != nil {
		return *b
	}
	return uncertainty.Estimate{StdUncertainty: decay.UnknownThermalCoefficient, DegreesOfFreedom: math.Inf(1)}
}

// sensitivity is by how much an error of temperature counts, Pa/K.
func (e expected) sensitivity() float64 {
	if e.Known.ThermalCoefficient == nil {
		return decay.UnknownThermalCoefficient
	}
	return math.Abs(e.coefficient().Value)
}

// scatterOf is the standard deviation of Σ g·y where each of n readings scatters
// by sigma.
func scatterOf(g []float64, sigma float64, n int) float64 {
	return sigma * math.Sqrt(weighted(g, g)*gridPoints/float64(max(n, fewReadings)))
}

// noiseDegrees is how many independent readings there are beside a line's two
// parameters.
func (p Prospect) noiseDegrees() float64 {
	if p.Readings <= fewReadings {
		return math.Inf(1)
	}
	inflation := max(p.Inflation, 1)
	return max(float64(p.Readings)/(inflation*inflation)-2, 1)
}
