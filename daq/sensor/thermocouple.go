package sensor

import (
	"math"

	"holdbench/daq"
)

// zeroCelsius is 0 °C, K.
const zeroCelsius = 273.15

// Thermocouple is one of the types with letters: B, E, J, K, N, R, S, T. Its
// signal is the voltage between its ends, V, while the cold junction stands at
// Beside.ColdJunction: E(t) − E(cold junction).
//
// Temperatures come out of the reference function itself, not out of the
// approximate inverse functions that are published beside it, which are off by
// up to 0.06 K: Newton's method between two nodes of a table of it, kept
// inside them. What it leaves is below 2e-6 K over the whole range; most of it
// stands at 760 °C of type J, where the two pieces of the published function
// miss each other by 75 pV.
//
// Source: [2].
type Thermocouple struct{ of *reference }

var _ Conversion = Thermocouple{}

// NewThermocouple returns the type of that letter; false for none.
func NewThermocouple(letter string) (Thermocouple, bool) {
	r, ok := thermocouples[letter]
	return Thermocouple{r}, ok
}

// EMF returns the voltage in V of a junction at temperature, K, against 0 °C;
// NaN beyond the range of the reference function.
func (t Thermocouple) EMF(temperature float64) float64 {
	return t.of.emf(temperature-zeroCelsius) / 1000
}

// Temperature returns the temperature, K, of a junction whose voltage against
// 0 °C is emf, V; NaN beyond the range that can be told (Range).
func (t Thermocouple) Temperature(emf float64) float64 {
	return t.of.inverse(emf*1000) + zeroCelsius
}

// Seebeck returns the slope of the voltage, V/K, at temperature, K; NaN beyond
// the range of the reference function.
func (t Thermocouple) Seebeck(temperature float64) float64 {
	return t.of.seebeck(temperature-zeroCelsius) / 1000
}

// Range returns the lowest and highest temperature, K, that a voltage tells:
// that of the reference function, but for type B, whose voltage has a minimum
// near 21 °C and hardly moves below 250 °C, where the published inverse begins
// too.
func (t Thermocouple) Range() (low, high float64) {
	return t.of.from + zeroCelsius, t.of.to() + zeroCelsius
}

// Value returns the temperature. Missing where the cold junction is not known.
// A voltage that no temperature of the type gives is that of a broken wire, for
// modules drive an open input to an end of their range; a little below the
// range it is under range only.
func (t Thermocouple) Value(signal float64, beside Beside) (float64, daq.Health) {
	if math.IsNaN(beside.ColdJunction) {
		return math.NaN(), daq.Missing
	}
	emf := signal*1000 + t.of.emf(beside.ColdJunction-zeroCelsius)
	switch low, high := t.of.ends(); {
	case math.IsNaN(emf):
		return math.NaN(), daq.Invalid
	case emf > high || emf < low-farBelow:
		return math.NaN(), daq.BrokenWire
	case emf < low:
		return math.NaN(), daq.UnderRange
	}
	return t.of.inverse(emf) + zeroCelsius, daq.Healthy
}

// farBelow is by how many mV a voltage stands below its type's lowest where a
// module drives an open input down (own bound: no cold junction and no
// tolerance makes so much).
const farBelow = 1.0

// Signal returns the voltage of a temperature against the cold junction.
func (t Thermocouple) Signal(value float64, beside Beside) float64 {
	return t.EMF(value) - t.EMF(beside.ColdJunction)
}

// Signals are the voltages of its range against 0 °C.
func (t Thermocouple) Signals() (low, high float64) {
	low, high = t.of.ends()
	return low / 1000, high / 1000
}

// piece is a part of a reference function, from low to high in °C: Σ cᵢ·tⁱ,
// and a0·exp(a1·(t − a2)²) beside it where a0 is not 0, in mV.
type piece struct {
	low, high float64
	c         []float64
	a         [3]float64
}

func (p piece) at(t float64) float64 {
	y := horner(p.c, t)
	if p.a[0] != 0 {
		y += p.a[0] * math.Exp(p.a[1]*(t-p.a[2])*(t-p.a[2]))
	}
	return y
}

func (p piece) slope(t float64) float64 {
	y := slope(p.c, t)
	if p.a[0] != 0 {
		y += p.a[0] * math.Exp(p.a[1]*(t-p.a[2])*(t-p.a[2])) * 2 * p.a[1] * (t - p.a[2])
	}
	return y
}
