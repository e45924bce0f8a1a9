package sensor

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// liveZero are the bands of a loop whose zero is not at zero: 4–20 mA, and
// 1–5 V or 2–10 V over a shunt, which are the same bands times its resistance.
// In A, or A times the shunt:
//
//	up to gone        no transmitter draws so little: broken wire
//	up to failLow     the transmitter says that it has failed: under range
//	below measureLow  neither measuring nor failure: under range
//	up to measureHigh measuring
//	below 21 mA       neither measuring nor failure: over range
//	up to shorted     the transmitter says that it has failed: over range
//	above             what no transmitter lets through: short circuit
//
// A receiver may keep its last state in the bands that are neither; here such
// a reading is no reading, for what is kept would look like one.
//
// Source: [1]; gone and shorted are the house's own bounds: a two-wire
// transmitter needs more than 3 mA to work and fails upwards to 23 mA at most
// (mark M).
const (
	gone        = 2e-3
	failLow     = 3.6e-3
	measureLow  = 3.8e-3
	measureHigh = 20.5e-3
	shorted     = 23e-3
)

// loopRounding is by how much a band's end may be missed by rounding, A.
const loopRounding = 1e-9

// loop returns by how much a signal is more than a current in A: 1 of a
// current, the shunt in Ω of a voltage; 0 where there is no live zero. Of
// currents every line that begins above the failure current has one; of
// voltages only those in the very proportion of 4 to 20 mA.
func (c Config) loop() float64 {
	if c.Conversion == nil || c.Excited {
		return 0
	}
	low, high := c.Conversion.Signals()
	switch {
	case c.Unit.Quantity == si.Current && low >= failLow:
		return 1
	case c.Unit.Quantity == si.Voltage && low > 0 && math.Abs(high-5*low) <= 1e-9*high:
		return low / 4e-3
	}
	return 0
}

// liveZero judges the signal of such a loop.
func (c Config) liveZero(signal float64) daq.Health {
	shunt := c.loop()
	if shunt == 0 {
		return daq.Healthy
	}
	switch i := signal / shunt; {
	case math.IsNaN(i):
		return daq.Invalid
	case i <= gone:
		return daq.BrokenWire
	case i < measureLow-loopRounding:
		return daq.UnderRange
	case i > shorted:
		return daq.ShortCircuit
	case i > measureHigh+loopRounding:
		return daq.OverRange
	}
	return daq.Healthy
}
