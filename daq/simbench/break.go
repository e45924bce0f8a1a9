package simbench

import (
	"cmp"
	"fmt"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq/sensor"
)

// breakage is what may be wrong with a channel's sensor or its wire.
type breakage int

const (
	whole breakage = iota
	openWire
	shorted
	stuck
)

// breakages by the word of the command.
var breakages = map[string]breakage{"wire": openWire, "short": shorted, "stuck": stuck}

// overload is what an instrument sends of a channel that has no signal of its
// own to show an open input by.
//
// Source: M SCPI-1999 volume 1, 7.2.1.4.
const overload = 9.9e37

// Break breaks a channel's "wire", shorts its sensor ("short") or lets it stand
// still ("stuck"), from now on. What the instrument then sends is what a real
// one would: no current in a loop, an input driven to its end, the cold
// junction's own temperature of a shorted thermocouple. A state channel has no
// sensor that could be broken so: it is refused.
func (r *Rig) Break(channel, what string) error {
	b, ok := breakages[what]
	if !ok {
		return fmt.Errorf("found %q, want wire, short or stuck", what)
	}
	return r.breakAs(channel, b)
}

// Mend makes a broken channel whole again.
func (r *Rig) Mend(channel string) error { return r.breakAs(channel, whole) }

func (r *Rig) breakAs(channel string, b breakage) error {
	c, i, ok := r.bench.Channel(channel)
	if !ok {
		return fmt.Errorf("found %q, which is no channel of the bench", channel)
	}
	if c.State && b != whole {
		return fmt.Errorf("found %q, a digital input: only a measuring channel's sensor can be broken here", channel)
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.views[i].broken = b
	return nil
}

// brokenAs returns the number that a broken channel sends; x is what it would
// send, last what it sent before.
func (v view) brokenAs(x, last float64) float64 {
	signal, ok := v.openSignal()
	switch {
	case v.broken == whole:
		return x
	case v.broken == stuck:
		return last
	case v.broken == shorted:
		signal, ok = v.shortSignal(), true
	}
	if !ok {
		return overload
	}
	return (v.unit.FromSI(signal) - v.channel.RawOffset) / cmp.Or(v.channel.RawScale, 1)
}

// openSignal is the signal of an open input, SI; false where the instrument
// says it by an overload.
func (v view) openSignal() (float64, bool) {
	switch c := v.channel; {
	case v.loop():
		return 0, true
	case c.RawQuantity == si.Voltage:
		return 1, true // driven up: far beyond any sensor's millivolts
	default:
		return 0, false
	}
}

// shortSignal is the signal of a shorted sensor: nothing, but in a loop what
// the supply and the module let through.
func (v view) shortSignal() float64 {
	const limited = 25e-3
	switch {
	case v.loop() && v.channel.RawQuantity == si.Voltage:
		return limited * v.channel.Scaling.SignalLow / 4e-3
	case v.loop():
		return limited
	}
	return 0
}

// loop says that the channel is a current loop with a live zero.
func (v view) loop() bool {
	c := v.channel
	if s := c.Scaling; s != nil && !c.Excitation.Given() && s.SignalLow > 0 {
		return c.RawQuantity == si.Current || c.RawQuantity == si.Voltage && s.SignalHigh == 5*s.SignalLow
	}
	if c.Conversion == nil || c.RawQuantity != si.Current {
		return false
	}
	_, platinum := c.Conversion.(sensor.RTD)
	low, _ := c.Conversion.Signals()
	return !platinum && low > 0
}

func doBreak(r *Rig, rest string) (string, error) {
	channel, what, ok := strings.Cut(rest, " ")
	if !ok {
		return "", fmt.Errorf("found %q, want CHANNEL and wire, short or stuck", rest)
	}
	what = strings.TrimSpace(what)
	return channel + ": " + brokenWords[breakages[what]], r.Break(channel, what)
}

// brokenWords say what is the matter with a channel.
var brokenWords = map[breakage]string{openWire: "its wire is broken", shorted: "its sensor is shorted", stuck: "its reading stands still"}

func doMend(r *Rig, rest string) (string, error) { return rest + ": whole again", r.Mend(rest) }
