package simbench

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/sensor"
)

// besides returns what a channel's sensor has at its other end: the true
// temperature of its cold junction, the true excitation. A fixed value of the
// bench file is true here. The reference functions of thermocouples and
// platinum are the program's own, and prove nothing about them: published
// tables do (daq/sensor).
func (r *Rig) besides(c bench.Channel) func(s *snapshot) sensor.Beside {
	junction, excitation := r.companion(c.ColdJunction), r.companion(c.Excitation)
	return func(s *snapshot) sensor.Beside {
		beside := sensor.Alone()
		beside.ColdJunction, beside.Excitation = junction(s), excitation(s)
		return beside
	}
}

func (r *Rig) companion(c bench.Companion) func(s *snapshot) float64 {
	if other, _, ok := r.bench.Channel(c.Channel); ok && c.Channel != "" {
		if sees := r.part(other); sees != nil {
			return sees
		}
	}
	return func(*snapshot) float64 {
		if c.Value == 0 {
			return math.NaN()
		}
		return c.Value
	}
}

// steady is what a channel of voltage or current shows: the middle of its
// range, or what a bridge or a resistance is usually fed with.
func steady(c bench.Channel) float64 {
	if middle := (c.RangeLow + c.RangeHigh) / 2; !math.IsNaN(middle) {
		return middle
	}
	if c.Quantity == si.Current {
		return 1e-3
	}
	return 10
}

// supplyNoise is the noise of a steady channel, relative.
const supplyNoise = 2e-6

// signal returns the signal, SI, of an indicated value: each conversion
// backwards.
func (v view) signal(value float64, beside sensor.Beside) float64 {
	switch c := v.channel.Conversion.(type) {
	case nil:
	case sensor.Polynomial:
		value = crossing(c, value)
	case sensor.Table:
		value = lookedUp(c, value)
	case sensor.Thermocouple, sensor.RTD:
		value = c.Signal(value, beside)
	}
	if s := v.channel.Scaling; s != nil {
		value = s.SignalLow + (value-s.ValueLow)/(s.ValueHigh-s.ValueLow)*(s.SignalHigh-s.SignalLow)
	}
	if v.channel.Excitation.Given() {
		value *= beside.Excitation
	}
	return value
}

// crossing finds where a polynomial has a value: by chords, which its own
// inverse does otherwise. Beyond its ends it goes on straight.
func crossing(p sensor.Polynomial, value float64) float64 {
	at := func(x float64) float64 {
		y, power := 0.0, 1.0
		for _, c := range p.Coefficients {
			y, power = y+c*power, power*p.SignalUnit.FromSI(x)
		}
		return p.ValueUnit.ToSI(y)
	}
	low, high := p.Low, p.High
	for range 80 {
		a, b := at(low), at(high)
		x := low + (value-a)/(b-a)*(high-low)
		if !(x > low && x < high) || at(x) == value {
			return x
		}
		if (at(x) < value) == (b > a) {
			low = x
		} else {
			high = x
		}
	}
	return low
}

// lookedUp is a table read the other way, going on straight beyond its ends.
func lookedUp(t sensor.Table, value float64) float64 {
	rises := t[len(t)-1].Value > t[0].Value
	i := 1
	for i < len(t)-1 && (t[i].Value < value) == rises {
		i++
	}
	a, b := t[i-1], t[i]
	return a.Signal + (value-a.Value)/(b.Value-a.Value)*(b.Signal-a.Signal)
}
