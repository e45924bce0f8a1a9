package sensor

import (
	"math"

	"holdbench/daq"
)

// Scaling is a straight line through two points, each SI: a transmitter of
// 4–20 mA or 0–10 V, a bridge in V/V. It goes on beyond its points, as far as
// the signal can be carried.
type Scaling struct {
	SignalLow, SignalHigh float64
	ValueLow, ValueHigh   float64
	// CarriedLow and CarriedHigh are between what signals the module can tell
	// signals apart; the one not above the other: not stated.
	CarriedLow, CarriedHigh float64
}

var _ Conversion = Scaling{}

// Value maps a signal onto the line. The end points are met exactly. A signal
// at the end of what can be carried, where the value is highest, is over range:
// any higher one would look the same. At the other end a vented pressure may
// stand, and a little beyond it.
func (s Scaling) Value(signal float64, _ Beside) (float64, daq.Health) {
	if h := s.carried(signal); h != daq.Healthy {
		return math.NaN(), h
	}
	return s.line(signal), daq.Healthy
}

// carried judges a signal by what can be carried. NaN is left to the value.
func (s Scaling) carried(signal float64) daq.Health {
	span := s.CarriedHigh - s.CarriedLow
	if !(span > 0) {
		return daq.Healthy
	}
	least, most := signal-s.CarriedLow, s.CarriedHigh-signal
	if !s.rises() {
		least, most = most, least
	}
	switch {
	case most <= spanRounding*span:
		return daq.OverRange
	case least < -(below+spanRounding)*span:
		return daq.UnderRange
	}
	return daq.Healthy
}

func (s Scaling) rises() bool {
	return (s.ValueHigh > s.ValueLow) == (s.SignalHigh > s.SignalLow)
}

func (s Scaling) line(signal float64) float64 {
	if signal == s.SignalHigh {
		return s.ValueHigh
	}
	return s.ValueLow + (signal-s.SignalLow)/(s.SignalHigh-s.SignalLow)*(s.ValueHigh-s.ValueLow)
}

// Highest is the highest value that the signal can carry: that at the end of
// what is carried, and where that is not stated the higher of the points'.
func (s Scaling) Highest() float64 {
	if s.CarriedHigh > s.CarriedLow {
		return math.Max(s.line(s.CarriedLow), s.line(s.CarriedHigh))
	}
	return math.Max(s.ValueLow, s.ValueHigh)
}

// Signal is the inverse line.
func (s Scaling) Signal(value float64, _ Beside) float64 {
	if value == s.ValueHigh {
		return s.SignalHigh
	}
	return s.SignalLow + (value-s.ValueLow)/(s.ValueHigh-s.ValueLow)*(s.SignalHigh-s.SignalLow)
}

// Signals are those of the two points.
func (s Scaling) Signals() (low, high float64) {
	return math.Min(s.SignalLow, s.SignalHigh), math.Max(s.SignalLow, s.SignalHigh)
}
