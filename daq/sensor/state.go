package sensor

import (
	"math"

	"holdbench/daq"
)

// State returns the reading of a digital input: Raw as sent, 0 or 1, and Value
// the state, the other way round where inverted. What is neither 0 nor 1 is
// Invalid.
func State(s daq.Signal, inverted bool) daq.Reading {
	r := daq.Reading{Raw: math.NaN(), Value: math.NaN(), Health: s.Health}
	if s.Health == daq.Missing {
		return r
	}
	r.Raw = s.Raw
	switch {
	case s.Health != daq.Healthy:
	case s.Raw != 0 && s.Raw != 1:
		r.Health = daq.Invalid
	case inverted:
		r.Value = 1 - s.Raw
	default:
		r.Value = s.Raw
	}
	return r
}
