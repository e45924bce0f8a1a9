package bench

import (
	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// figures reads what the transducer's maker says of it. known is false where
// the channel's quantity is not.
func figures(c *Channel, t *strict.Table, known bool) {
	reference := t.Optional("reference")
	limits, accuracy := t.Optional("range"), t.Optional("accuracy")
	gain, drift, resolution := t.Optional("gain_uncertainty"), t.Optional("drift"), t.Optional("resolution")
	effect := t.Optional("temperature_effect")
	if !known {
		return
	}
	if c.Quantity == si.Pressure {
		c.Absolute = t.Required("reference").OneOf("gauge", "absolute") == "absolute"
	} else {
		reference.Refuse("pressure only")
	}
	c.RangeLow, c.RangeHigh = limits.Range(c.Quantity)
	possible(*c, limits)
	c.Accuracy = accuracy.NotNegative(c.Quantity.Difference())
	c.Resolution = resolution.NotNegative(c.Quantity.Difference())
	if c.Quantity == si.Pressure {
		c.TemperatureEffectU = effect.NotNegative(si.ThermalCoefficient)
	} else {
		effect.Refuse("pressure only")
	}
	c.GainU = gain.NotNegative(si.Dimensionless)
	if c.GainU >= 1 {
		gain.Fault(gain.Found(), "less than 100 %")
	}
	switch c.Quantity {
	case si.Pressure:
		c.DriftU = drift.NotNegative(si.PressureRate)
	case si.Temperature:
		c.DriftU = drift.NotNegative(si.TemperatureRate)
	default:
		drift.Refuse("pressure and temperature only")
	}
}

// Bounds against slips of the unit (own): no hydraulic bench goes beyond
// 10 000 bar or 2000 K, and no vacuum below minus one atmosphere.
const (
	lowestGauge         = -1.1e5 // Pa
	highestPressure     = 1e9    // Pa
	highestTemperature  = 2000.0 // K
	absoluteZero        = 0.0    // K, and Pa absolute
	impossiblePressure  = "from -1.1 bar to 10000 bar"
	impossibleAbsolute  = "from 0 bar to 10000 bar absolute"
	impossibleTempRange = "from absolute zero to 2000 K"
)

// possible notes a range that no transducer has. NaN passes: nothing stated.
func possible(c Channel, k strict.Key) {
	low, high, want := lowestGauge, highestPressure, impossiblePressure
	switch {
	case c.Quantity == si.Pressure && c.Absolute:
		low, want = absoluteZero, impossibleAbsolute
	case c.Quantity == si.Temperature:
		low, high, want = absoluteZero, highestTemperature, impossibleTempRange
	case c.Quantity != si.Pressure:
		return
	}
	if c.RangeLow < low || c.RangeHigh > high {
		k.Fault(k.Found(), "a range "+want)
	}
}
