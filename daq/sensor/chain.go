// Package sensor knows how the number that an instrument sends becomes a
// value of the quantity measured: scaling, calibration, range. It does no I/O
// and knows no instrument.
//
// Sources:
//
//	[1] NAMUR NE 43 (2003), signal levels of 4–20 mA transmitters: measuring
//	    from 3.8 to 20.5 mA, failure up to 3.6 mA and from 21 mA (mark M).
package sensor

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// Config says how one channel's number becomes its value.
type Config struct {
	// Quantity is what the channel measures.
	Quantity si.Quantity
	// Scale × the number sent is in Unit.
	Scale float64
	Unit  si.Unit
	// Scaling maps the signal to the quantity; nil when Unit is a unit of the
	// quantity itself.
	Scaling *Scaling
	// Points are the calibration; empty: used as indicated.
	Points []Point
	// Curve is the calibration as a polynomial instead; nil: none.
	Curve *CorrectionCurve
	// Gauge turns an absolute pressure into a gauge one by the ambient
	// pressure. Range and calibration are those of the absolute transducer.
	Gauge bool
	// Low and High are the range in SI, NaN when not stated.
	Low, High float64
}

// Scaling is a straight line through two points, each SI.
type Scaling struct {
	SignalLow, SignalHigh float64
	ValueLow, ValueHigh   float64
}

// value maps a signal onto the line. The end points are met exactly.
func (s Scaling) value(signal float64) float64 {
	if signal == s.SignalHigh {
		return s.ValueHigh
	}
	return s.ValueLow + (signal-s.SignalLow)/(s.SignalHigh-s.SignalLow)*(s.ValueHigh-s.ValueLow)
}

// Converted says whether a value is more than its raw number in another unit,
// so that a recording keeps both.
func (c Config) Converted() bool {
	return c.Scaling != nil || c.Gauge || len(c.Points) > 0 || c.Curve != nil
}

// Reading returns the reading of a signal: Raw in Unit, Value in SI, NaN
// unless healthy. ambient is the air's pressure, Pa absolute.
func (c Config) Reading(s daq.Signal, ambient float64) daq.Reading {
	r := daq.Reading{Raw: math.NaN(), Value: math.NaN(), Health: s.Health}
	if s.Health == daq.Missing {
		return r
	}
	r.Raw = c.Scale * s.Raw
	if s.Health != daq.Healthy {
		return r
	}
	value := c.Unit.ToSI(r.Raw)
	if c.Scaling != nil {
		if r.Health = c.liveZero(value); r.Health != daq.Healthy {
			return r
		}
		value = c.Scaling.value(value)
	}
	value = Correct(c.Points, value)
	if c.Curve != nil {
		value = c.Curve.Correct(value)
	}
	if r.Health = c.health(value, ambient); r.Health != daq.Healthy {
		return r
	}
	if c.Gauge {
		value -= ambient
	}
	r.Value = value
	return r
}

// What a transmitter may show beyond its range and still be measuring, as a
// part of its span: 0.2 of 16 mA below, 0.5 of 16 mA above.
//
// Source: [1].
const (
	below = 0.2 / 16
	above = 0.5 / 16
)

// Currents by which a 4–20 mA transmitter says that it has failed, A.
//
// Source: [1].
const (
	failLow  = 3.6e-3
	failHigh = 21e-3
)

// liveZero judges a current loop whose zero is not at zero current: a broken
// wire shows as no current at all.
func (c Config) liveZero(signal float64) daq.Health {
	s := c.Scaling
	if c.Unit.Quantity != si.Current || math.Min(s.SignalLow, s.SignalHigh) < failLow {
		return daq.Healthy
	}
	switch {
	case signal <= failLow:
		return daq.UnderRange
	case signal >= failHigh:
		return daq.OverRange
	}
	return daq.Healthy
}

// health judges a value against the range, and against what the quantity can
// be at all. Just beyond the range a transmitter still measures: a vented
// pressure shows a little less than nothing.
func (c Config) health(value, ambient float64) daq.Health {
	span := c.High - c.Low
	if math.IsNaN(span) {
		span = 0
	}
	switch {
	case math.IsNaN(value), math.IsInf(value, 0):
		return daq.Invalid
	case value < c.Low-below*span:
		return daq.UnderRange
	case value > c.High+above*span:
		return daq.OverRange
	case c.Quantity == si.Temperature && value < 0:
		return daq.Invalid
	case c.Quantity == si.Pressure && !c.Gauge && math.IsNaN(c.Low) && c.Scaling == nil && value < -lowestGauge*ambient:
		return daq.Invalid
	}
	return daq.Healthy
}

// lowestGauge is how far below zero a gauge pressure may read where no range
// says so, in ambient pressures: nothing, and a little for the transducer's
// own zero.
const lowestGauge = 1.1
