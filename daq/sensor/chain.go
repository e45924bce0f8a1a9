// Package sensor knows how the number that an instrument sends becomes a
// value of the quantity measured, and whether it may be believed: conversion,
// calibration, range, tolerance, health. It does no I/O and knows no
// instrument.
//
// Sources:
//
//	[1] NAMUR NE 43 (1994, 2003), signal levels of 4–20 mA transmitters:
//	    measuring from 3.8 to 20.5 mA, failure up to 3.6 mA and from 21 mA
//	    (mark M: as several public texts say it alike).
//	[2] NIST Monograph 175 (1993), Temperature-Electromotive Force Reference
//	    Functions and Tables for the Letter-Designated Thermocouple Types Based
//	    on the ITS-90, and NIST Standard Reference Database 60 (mark V); IEC
//	    60584-1:2013 has the same functions (mark M).
//	[3] IEC 60751:2008, Industrial platinum resistance thermometers and
//	    platinum temperature sensors (function and classes AA, A, B mark V in
//	    public texts that agree; class C and the classes' ranges mark M).
//	[4] IEC 60584-1:2013, Thermocouples, tolerances (mark V in a public table
//	    of IEC 60584-2:1982 with amendment 1, which it took over).
//	[5] JCGM 100:2008, Evaluation of measurement data (GUM).
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
	// Scale × the number sent + Offset is in Unit.
	Scale, Offset float64
	Unit          si.Unit
	// Conversion maps the signal to the quantity; nil when Unit is a unit of
	// the quantity itself.
	Conversion Conversion
	// Excited says that the signal is the ratio to Beside.Excitation.
	Excited bool
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

// Converted says whether a value is more than its raw number in another unit,
// so that a recording keeps both.
func (c Config) Converted() bool {
	return c.Conversion != nil || c.Gauge || len(c.Points) > 0 || c.Curve != nil
}

// Reading returns the reading of a signal: Raw in Unit, Value in SI, NaN
// unless healthy. It is Missing, with its Raw, where something that it needs
// besides is not known.
func (c Config) Reading(s daq.Signal, beside Beside) daq.Reading {
	if s.Health == daq.Missing {
		return daq.Reading{Raw: math.NaN(), Value: math.NaN(), Health: s.Health}
	}
	return c.Again(c.Scale*s.Raw+c.Offset, s.Health, beside)
}

// Again returns the reading whose raw number, in Unit, was kept, as if it came
// now; h is what the instrument said of it. Channel is left 0.
func (c Config) Again(raw float64, h daq.Health, beside Beside) daq.Reading {
	r := daq.Reading{Raw: raw, Value: math.NaN(), Health: c.said(h)}
	if r.Health != daq.Healthy {
		return r
	}
	value := c.Unit.ToSI(raw)
	if value, r.Health = c.converted(value, beside); r.Health != daq.Healthy {
		return r
	}
	value = Correct(c.Points, value)
	if c.Curve != nil {
		value = c.Curve.Correct(value)
	}
	if r.Health = c.health(value, beside.Ambient); r.Health != daq.Healthy {
		return r
	}
	if c.Gauge {
		if math.IsNaN(beside.Ambient) {
			r.Health = daq.Missing
			return r
		}
		value -= beside.Ambient
	}
	r.Value = value
	return r
}

// said is what an instrument's word means for the sensor: what measures a
// thermocouple or a resistance says of an open one that it is over range.
func (c Config) said(h daq.Health) daq.Health {
	if k, ok := KindOf(c.Conversion); ok && h == daq.OverRange && k.Names != nil {
		return daq.BrokenWire
	}
	return h
}

// converted turns the signal, SI, into the value indicated.
func (c Config) converted(signal float64, beside Beside) (float64, daq.Health) {
	if c.Conversion == nil {
		return signal, daq.Healthy
	}
	if h := c.liveZero(signal); h != daq.Healthy {
		return math.NaN(), h
	}
	if c.Excited {
		switch by := beside.Excitation; {
		case math.IsNaN(by):
			return math.NaN(), daq.Missing
		case !(by > 0):
			return math.NaN(), daq.Invalid
		default:
			signal /= by
		}
	}
	return c.Conversion.Value(signal, beside)
}

// What a transmitter may show beyond its range and still be measuring, as a
// part of its span: 0.2 of 16 mA below, 0.5 of 16 mA above.
//
// Source: [1].
const (
	below = 0.2 / 16
	above = 0.5 / 16
	// spanRounding is by how much an end may be missed by rounding.
	spanRounding = 1e-9
)

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
	case value < c.Low-(below+spanRounding)*span:
		return daq.UnderRange
	case value > c.High+(above+spanRounding)*span:
		return daq.OverRange
	case c.Quantity == si.Temperature && value < 0:
		return daq.Invalid
	case c.Quantity == si.Pressure && !c.Gauge && math.IsNaN(c.Low) && c.Conversion == nil && value < -lowestGauge*ambient:
		return daq.Invalid
	}
	return daq.Healthy
}

// lowestGauge is how far below zero a gauge pressure may read where no range
// says so, in ambient pressures: nothing, and a little for the transducer's
// own zero.
const lowestGauge = 1.1
