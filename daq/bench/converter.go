package bench

import (
	"cmp"
	"fmt"
	"math"
	"sync"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/sensor"
)

// Converter turns what the bench's instruments say into readings. It remembers
// of each channel what the next reading is judged by, and the last healthy
// value of each channel that another needs: the air's pressure, a cold
// junction, an excitation. It needs no port. The same signals at the same
// instants in the same order give the same readings; of instruments on
// different lines, whose order is chance, it may be called from several
// goroutines.
type Converter struct {
	channels []converted
	of       map[string][]int // by instrument: its channels
	order    map[string][]int // and in which order they are converted

	mu      sync.Mutex
	known   []known // by channel
	watches []sensor.Watch
}

// converted is one channel as the converter sees it.
type converted struct {
	chain                     sensor.Config
	air, junction, excitation source
	state, inverted           bool
}

// source is where a value comes from that a channel needs besides its signal.
type source struct {
	channel int // -1: none
	// fixed is the value without a channel, and until a channel that measures
	// the air has said something; NaN: none.
	fixed float64
	// fresh is for how long a channel's value stands.
	fresh time.Duration
}

// known is a channel's last healthy value.
type known struct {
	at    time.Duration
	value float64
	any   bool
}

// For how long a value stands that another channel needs. The air moves by
// less than 10 mbar in an hour (common practice); of what is closer to the
// sensor a few readings may be missed, and at least some seconds.
const (
	freshAir      = time.Hour
	freshReadings = 5
	freshAtLeast  = 10 * time.Second
)

// Converter returns a converter that has seen nothing yet. It fails on a raw
// unit that a channel of a bench not read from a file has.
func (b *Bench) Converter() (*Converter, error) {
	c := &Converter{of: map[string][]int{}, order: map[string][]int{}}
	for i, ch := range b.Channels {
		chain, err := b.chain(ch)
		if err != nil {
			return nil, err
		}
		c.channels = append(c.channels, converted{
			chain: chain, state: ch.State, inverted: ch.Inverted,
			air:        b.air(),
			junction:   b.source(ch.ColdJunction),
			excitation: b.source(ch.Excitation),
		})
		from, _ := b.instrument(ch.Instrument)
		c.watches = append(c.watches, sensor.Watch{StuckAfter: ch.StuckAfter, Fastest: ch.Fastest, Least: from.Interval / 2})
		c.of[ch.Instrument] = append(c.of[ch.Instrument], i)
	}
	c.known = make([]known, len(b.Channels))
	for instrument, channels := range c.of {
		c.order[instrument] = c.sorted(channels)
	}
	return c, nil
}

// air is where the air's pressure comes from.
func (b *Bench) air() source {
	s := source{channel: -1, fixed: b.Ambient.Pressure.Value, fresh: freshAir}
	if _, i, ok := b.Channel(b.Ambient.Channel); ok && b.Ambient.Channel != "" {
		s.channel = i
	}
	return s
}

// source is where a companion comes from.
func (b *Bench) source(c Companion) source {
	s := source{channel: -1, fixed: math.NaN()}
	switch ch, i, ok := b.Channel(c.Channel); {
	case c.Channel == "" && c.Value > 0:
		s.fixed = c.Value
	case ok:
		s.channel = i
		from, _ := b.instrument(ch.Instrument)
		s.fresh = max(freshAtLeast, freshReadings*from.Interval)
	}
	return s
}

// sorted puts an instrument's channels in an order in which what another needs
// comes before it. Their number in the instrument's answer comes back.
func (c *Converter) sorted(channels []int) (order []int) {
	done := map[int]bool{}
	place := map[int]int{}
	for k, i := range channels {
		place[i] = k
	}
	var visit func(i int)
	visit = func(i int) {
		k, here := place[i]
		if !here || done[i] {
			return
		}
		done[i] = true
		for _, s := range c.channels[i].sources() {
			if s.channel >= 0 {
				visit(s.channel)
			}
		}
		order = append(order, k)
	}
	for _, i := range channels {
		visit(i)
	}
	return order
}

func (c converted) sources() []source {
	sources := []source{c.junction, c.excitation}
	if c.chain.Gauge {
		sources = append(sources, c.air)
	}
	return sources
}

// Convert fills dst with the readings of one scan of the instrument: src are
// the signals of its channels in bench order, at the instant of the scan. Both
// have the length of Channels(instrument).
func (c *Converter) Convert(instrument string, at time.Duration, dst []daq.Reading, src []daq.Signal) {
	c.each(instrument, at, dst, func(k int, ch converted, beside sensor.Beside) daq.Reading {
		if ch.state {
			return sensor.State(src[k], ch.inverted)
		}
		return ch.chain.Reading(src[k], beside)
	})
}

// Reconvert makes the readings of a recorded scan anew, in place, as Convert
// would from the same signals: of each its Raw number where that was kept, and
// else, of a channel whose value was its raw number in another unit, its Value,
// to which a calibration that it has got since then is applied.
// A reading without either is as Missing as it was. What the instrument itself
// had said of its health is not in a recording, so a reading with a number is
// judged by the number.
func (c *Converter) Reconvert(instrument string, at time.Duration, readings []daq.Reading) {
	c.each(instrument, at, readings, func(k int, ch converted, beside sensor.Beside) daq.Reading {
		r := readings[k]
		switch {
		case ch.state:
			return r
		case !math.IsNaN(r.Raw):
			return ch.chain.Again(r.Raw, daq.Healthy, beside)
		case !math.IsNaN(r.Value) && ch.chain.Conversion == nil && !ch.chain.Gauge:
			again := ch.chain.Again(ch.chain.Unit.FromSI(r.Value), daq.Healthy, beside)
			if again.Health == daq.Healthy && !ch.chain.Converted() {
				again.Value = r.Value // bit for bit
			}
			return again
		}
		return daq.Reading{Raw: math.NaN(), Value: math.NaN(), Health: daq.Missing}
	})
}

// Channels returns the indices of an instrument's channels in bench order.
func (c *Converter) Channels(instrument string) []int { return c.of[instrument] }

func (c *Converter) each(instrument string, at time.Duration, dst []daq.Reading, reading func(int, converted, sensor.Beside) daq.Reading) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, k := range c.order[instrument] {
		i := c.of[instrument][k]
		ch := c.channels[i]
		r := reading(k, ch, sensor.Beside{
			Ambient:      c.now(ch.air, at),
			ColdJunction: c.now(ch.junction, at),
			Excitation:   c.now(ch.excitation, at),
		})
		if r.Health = c.watches[i].See(at, r); r.Health == daq.Healthy {
			c.known[i] = known{at, r.Value, true}
		} else {
			r.Value, r.Doubted = math.NaN(), r.Value
		}
		r.Channel = i
		dst[k] = r
	}
}

// now is the value of a source at an instant, NaN when it is not known or too
// old.
func (c *Converter) now(s source, at time.Duration) float64 {
	if s.channel < 0 {
		return s.fixed
	}
	switch k := c.known[s.channel]; {
	case !k.any:
		return s.fixed
	case at-k.at > s.fresh:
		return math.NaN()
	default:
		return k.value
	}
}

// chain is a channel's way from the number sent to its value.
func (b *Bench) chain(c Channel) (sensor.Config, error) {
	conversion := c.conversion()
	quantity := c.Quantity
	if conversion != nil {
		quantity = c.RawQuantity
	}
	unit, err := si.ParseUnit(c.RawUnit, quantity)
	if err != nil {
		return sensor.Config{}, fmt.Errorf("channel %q: raw unit: %w", c.Name, err)
	}
	return sensor.Config{
		Quantity: c.Quantity, Scale: cmp.Or(c.RawScale, 1), Offset: c.RawOffset, Unit: unit,
		Conversion: conversion, Excited: c.Excitation.Given(),
		Points: c.Calibration.points(), Curve: c.Calibration.curve(),
		// What measures the air itself stays absolute.
		Gauge: c.Absolute && c.Name != b.Ambient.Channel,
		Low:   c.RangeLow, High: c.RangeHigh,
	}, nil
}

// conversion is the way from the signal to the quantity; nil where the raw
// number is the value in another unit.
func (c Channel) conversion() sensor.Conversion {
	if c.Scaling != nil {
		return sensor.Scaling(*c.Scaling)
	}
	return c.Conversion
}
