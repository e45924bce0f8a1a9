package sensor

import (
	"math"

	"holdbench/daq"
)

// Conversion is the way from a signal to the quantity that a sensor measures,
// and back. Both are SI; of what is measured against an excitation the signal
// is the ratio to it. Each conversion has a file of its own and a row in
// kinds.go.
type Conversion interface {
	// Value returns the value of a signal; where there is none it is NaN, with
	// the health that says why.
	Value(signal float64, beside Beside) (float64, daq.Health)
	// Signal returns the signal of a value, the inverse; NaN where there is
	// none.
	Signal(value float64, beside Beside) float64
	// Signals returns the ends of the signals that it is meant for; NaN where
	// it knows none.
	Signals() (low, high float64)
}

// Beside is what else a reading may need besides its own signal, as known now;
// NaN for what is not known, or no longer.
type Beside struct {
	// Ambient is the air's pressure, Pa absolute.
	Ambient float64
	// ColdJunction is the temperature of a thermocouple's cold junction, K.
	ColdJunction float64
	// Excitation is what feeds a bridge, V, or a resistance thermometer, A.
	Excitation float64
}

// Alone is what a reading knows that needs nothing else.
func Alone() Beside {
	return Beside{Ambient: math.NaN(), ColdJunction: math.NaN(), Excitation: math.NaN()}
}

// outside is the health of a signal beyond the ends of what is rising from low
// to high, healthy within. NaN ends as Invalid.
func outside(x, low, high float64) daq.Health {
	switch {
	case x < low:
		return daq.UnderRange
	case x > high:
		return daq.OverRange
	case x >= low && x <= high:
		return daq.Healthy
	}
	return daq.Invalid
}

// flipped is a health of the signal as one of the value where that falls while
// the signal rises.
func flipped(h daq.Health) daq.Health {
	switch h {
	case daq.UnderRange:
		return daq.OverRange
	case daq.OverRange:
		return daq.UnderRange
	}
	return h
}
