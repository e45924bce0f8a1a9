package procedure

import (
	"time"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// How long a zero is read: by default, at the least (a mean of less says little
// of a transducer that is noisy) and at the most.
const (
	usualZeroTime    = 10 * time.Second
	shortestZeroTime = 5 * time.Second
	longestZeroTime  = 10 * time.Minute
)

// zeroRule reads [zero_check]; nil when t is.
func (p *Procedure) zeroRule(t *strict.Table) *ZeroRule {
	if t == nil {
		return nil
	}
	tolerance, duration := t.Required("tolerance"), t.Optional("duration")
	z := &ZeroRule{Tolerance: tolerance.Positive(si.PressureChange), Duration: usualZeroTime}
	if z.Tolerance > p.SafePressure {
		tolerance.Fault(tolerance.Found(), "at most safe_pressure: what is not safe is no zero")
	}
	if duration.Given() {
		z.Duration = duration.Duration(shortestZeroTime, longestZeroTime)
	}
	return z
}
