package sensor

import (
	"math"

	"holdbench/daq"
)

// Coefficients of the platinum resistance thermometer of α = 3.851e-3 1/°C:
// R = R0·(1 + A·t + B·t²), with C·(t − 100)·t³ besides below 0 °C.
//
// Source: [3].
const (
	callendarA = 3.9083e-3  // 1/°C
	callendarB = -5.775e-7  // 1/°C²
	vanDusenC  = -4.183e-12 // 1/°C⁴
)

// Ends of the function, °C.
//
// Source: [3].
const (
	platinumLow  = -200.0
	platinumHigh = 850.0
)

// RTD is a platinum resistance thermometer. Its signal is its resistance, Ω;
// how many wires lead to it is the business of what measures it.
type RTD struct {
	// R0 is the resistance at 0 °C, Ω.
	R0 float64
}

var _ Conversion = RTD{}

// rtds are the resistance thermometers by name.
var rtds = map[string]RTD{"Pt100": {100}, "Pt1000": {1000}}

// NewRTD returns the resistance thermometer of that name, Pt100 or Pt1000;
// false for none.
func NewRTD(name string) (RTD, bool) {
	r, ok := rtds[name]
	return r, ok
}

// Resistance returns the resistance in Ω at temperature, K; NaN beyond −200 to
// 850 °C.
func (r RTD) Resistance(temperature float64) float64 {
	t := temperature - zeroCelsius
	if !(platinumLow-rounding <= t && t <= platinumHigh+rounding) {
		return math.NaN()
	}
	return r.R0 * platinum(t)
}

// Temperature returns the temperature, K, of a resistance in Ω; NaN beyond
// those of −200 to 850 °C. Above 0 °C it is the root of the quadratic, below
// Newton's method on the function itself.
func (r RTD) Temperature(resistance float64) float64 {
	w := resistance / r.R0
	switch {
	case !(w >= platinum(platinumLow)-rounding && w <= platinum(platinumHigh)+rounding):
		return math.NaN()
	case w >= 1:
		root := math.Sqrt(callendarA*callendarA + 4*callendarB*(w-1))
		return 2*(w-1)/(callendarA+root) + zeroCelsius
	}
	return newton(platinum, platinumSlope, platinumLow-1, 0, w) + zeroCelsius
}

// rounding is by how much, relative to what they are, ends may be missed on
// the way through kelvins.
const rounding = 1e-9

// platinum is R/R0 at t in °C.
func platinum(t float64) float64 {
	w := 1 + callendarA*t + callendarB*t*t
	if t < 0 {
		w += vanDusenC * (t - 100) * t * t * t
	}
	return w
}

func platinumSlope(t float64) float64 {
	s := callendarA + 2*callendarB*t
	if t < 0 {
		s += vanDusenC * (4*t - 300) * t * t
	}
	return s
}

// Value returns the temperature. A resistance above all of the function is
// that of a broken wire, one below all of it of a short circuit.
func (r RTD) Value(signal float64, _ Beside) (float64, daq.Health) {
	switch low, high := r.Signals(); outside(signal, low*(1-rounding), high*(1+rounding)) {
	case daq.OverRange:
		return math.NaN(), daq.BrokenWire
	case daq.UnderRange:
		return math.NaN(), daq.ShortCircuit
	case daq.Healthy:
		return r.Temperature(signal), daq.Healthy
	}
	return math.NaN(), daq.Invalid
}

// Signal returns the resistance of a temperature.
func (r RTD) Signal(value float64, _ Beside) float64 { return r.Resistance(value) }

// Signals are the resistances at −200 and 850 °C.
func (r RTD) Signals() (low, high float64) {
	return r.R0 * platinum(platinumLow), r.R0 * platinum(platinumHigh)
}
