package simbench

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/sensor"
)

// view is what one channel of the bench shows: which part of the truth, and
// how its instrument says it.
type view struct {
	channel bench.Channel
	// sees returns the part of the truth, SI, as the transducer feels it
	// (absolute where it is an absolute one).
	sees func(s *snapshot) float64
	// beside is what its sensor has at its other end.
	beside func(s *snapshot) sensor.Beside
	unit   si.Unit // of the raw signal
	step   float64 // smallest step of the number sent, 0: none

	broken breakage
	last   float64 // number sent
}

// wireViews finds out what each channel shows.
func (r *Rig) wireViews() error {
	for _, c := range r.bench.Channels {
		v := view{channel: c, sees: r.part(c), beside: r.besides(c)}
		if c.State {
			v.sees = r.state(c)
		}
		if v.sees == nil {
			return fmt.Errorf("channel %q measures a %s, and the simulated bench has pressures, temperatures, voltages and currents only", c.Name, c.Quantity)
		}
		var err error
		if v.unit, err = si.ParseUnit(c.RawUnit, rawQuantity(c)); err != nil {
			return fmt.Errorf("channel %q: raw_unit: %w", c.Name, err)
		}
		v.step = v.stepOf(c.Resolution)
		r.views = append(r.views, v)
	}
	return nil
}

func rawQuantity(c bench.Channel) si.Quantity {
	if c.Scaling == nil && c.Conversion == nil {
		return c.Quantity
	}
	return c.RawQuantity
}

// stepOf is the smallest step of the number sent where the value's is that; of
// a temperature that is converted, at 20 °C.
func (v view) stepOf(resolution float64) float64 {
	beside, at := sensor.Alone(), 0.0
	if v.channel.Conversion != nil && v.channel.Quantity == si.Temperature {
		at = 293.15
	}
	beside.ColdJunction, beside.Excitation = at, 1
	if resolution == 0 {
		return 0
	}
	if c := v.channel.Excitation; c.Value > 0 {
		beside.Excitation = c.Value
	}
	return math.Abs(v.raw(at+resolution, beside) - v.raw(at, beside))
}

// part returns what a channel sees by its role on the bench: the trapped
// side, the feed side or the probe of a circuit, the room, the air's pressure.
// A pressure channel without a role is tapped into the first trapped side, as a
// reference gauge would be, a temperature channel without one hangs in the room. Nil for other quantities.
func (r *Rig) part(c bench.Channel) func(s *snapshot) float64 {
	switch c.Quantity {
	case si.Temperature:
		if c.Name != r.bench.Ambient.Temperature && r.isProbe(c.Name) {
			return func(s *snapshot) float64 { return s.warmth.probe }
		}
		return func(s *snapshot) float64 { return s.warmth.room() }
	case si.Pressure:
		if c.Name == r.bench.Ambient.Channel {
			return func(*snapshot) float64 { return r.ambience }
		}
		gauge := r.pressure(c.Name)
		if !c.Absolute {
			return gauge
		}
		return func(s *snapshot) float64 { return gauge(s) + r.ambience }
	case si.Voltage, si.Current:
		level := steady(c)
		return func(*snapshot) float64 { return level }
	}
	return nil
}

func (r *Rig) isProbe(channel string) bool {
	for _, p := range r.bench.Positions {
		if slices.ContainsFunc(p.Circuits, func(c bench.Circuit) bool { return c.Temperature == channel }) {
			return true
		}
	}
	return false
}

// pressure returns which gauge pressure a channel sees. A feed channel that
// stands for several circuits sees the highest, one without a role the first
// trapped side.
func (r *Rig) pressure(channel string) func(s *snapshot) float64 {
	var feeds []int
	n := 0
	for _, p := range r.bench.Positions {
		for _, c := range p.Circuits {
			i := n
			n++
			if c.Trapped == channel {
				return func(s *snapshot) float64 { return s.flows[i].trapped }
			}
			if c.Feed == channel {
				feeds = append(feeds, i)
			}
		}
	}
	if len(feeds) == 0 {
		return func(s *snapshot) float64 { return s.flows[0].trapped }
	}
	return func(s *snapshot) float64 {
		out := 0.0
		for k, i := range feeds {
			if p := s.flows[i].feed; k == 0 || p > out {
				out = p
			}
		}
		return out
	}
}

// sent returns the number that the instrument sends for what its transducer
// sees, so that the program's conversion arrives at value (SI) again: the
// calibration's error, the scaling and the raw scale, each backwards. It is
// rounded to the instrument's resolution.
func (v view) sent(value float64, beside sensor.Beside) float64 {
	x := v.raw(indicated(v.channel.Calibration, value), beside)
	if v.step > 0 {
		x = math.Round(x/v.step) * v.step
	}
	return x
}

// raw is an indicated value (SI) as a number sent.
func (v view) raw(value float64, beside sensor.Beside) float64 {
	value = v.signal(value, beside)
	return (v.unit.FromSI(value) - v.channel.RawOffset) / cmp.Or(v.channel.RawScale, 1)
}

// indicated returns what a transducer with that certificate indicates at a
// true value: straight between the points, off by an end point's error
// outside.
func indicated(c *bench.Calibration, value float64) float64 {
	switch {
	case c != nil && len(c.Coefficients) > 0:
		return polynomialBackwards(c, value)
	case c == nil || len(c.Points) == 0:
		return value
	}
	first, last := c.Points[0], c.Points[len(c.Points)-1]
	switch {
	case value <= first.Reference:
		return value + first.Indicated - first.Reference
	case value >= last.Reference:
		return value + last.Indicated - last.Reference
	}
	i := 1
	for c.Points[i].Reference < value {
		i++
	}
	a, b := c.Points[i-1], c.Points[i]
	return a.Indicated + (value-a.Reference)/(b.Reference-a.Reference)*(b.Indicated-a.Indicated)
}

// read takes one reading of every channel in which, now: the number that its
// instrument sends. The clock's time and the channels before it decide it,
// nothing else.
func (r *Rig) read(which []int) []float64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	s := r.look(r.clock.Now())
	out := make([]float64, len(which))
	for k, i := range which {
		v := &r.views[i]
		out[k] = v.brokenAs(v.sent(r.wrong[i].shows(v.sees(s))+r.sensors[i].noise(), v.beside(s)), v.last)
		v.last = out[k]
	}
	return out
}

// polynomialBackwards returns what a transducer indicates whose certificate
// has a polynomial: halving finds where it has that value.
func polynomialBackwards(c *bench.Calibration, value float64) float64 {
	at := func(x float64) float64 {
		u := c.Unit.FromSI(x)
		sum, power := 0.0, 1.0
		for _, k := range c.Coefficients {
			sum, power = sum+k*power, power*u
		}
		return c.Unit.ToSI(sum)
	}
	low, high := c.SpanLow, c.SpanHigh
	switch {
	case value <= at(low):
		return value + low - at(low)
	case value >= at(high):
		return value + high - at(high)
	}
	for range 60 {
		if middle := (low + high) / 2; at(middle) < value {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}
