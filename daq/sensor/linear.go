package sensor

import (
	"math"

	"holdbench/daq"
)

// Scaling is a straight line through two points, each SI: a transmitter of
// 4–20 mA or 0–10 V, a bridge in V/V. It goes on beyond its points.
type Scaling struct {
	SignalLow, SignalHigh float64
	ValueLow, ValueHigh   float64
}

var _ Conversion = Scaling{}

// Value maps a signal onto the line. The end points are met exactly.
func (s Scaling) Value(signal float64, _ Beside) (float64, daq.Health) {
	if signal == s.SignalHigh {
		return s.ValueHigh, daq.Healthy
	}
	return s.ValueLow + (signal-s.SignalLow)/(s.SignalHigh-s.SignalLow)*(s.ValueHigh-s.ValueLow), daq.Healthy
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
