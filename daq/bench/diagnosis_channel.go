package bench

import (
	"fmt"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/sensor"
)

// channel notes the health that a channel had most often besides sound.
func (d *diagnosis) channel(c Channel, counts map[daq.Health]int, p Probe) {
	worst, total := daq.Healthy, 0
	for _, h := range daq.Healths {
		total += counts[h]
		if h != daq.Healthy && counts[h] > 0 && (worst == daq.Healthy || counts[h] > counts[worst]) {
			worst = h
		}
	}
	switch {
	case worst == daq.Healthy:
		return
	case worst == daq.Missing && p.Failed > 0:
		return // said of the instrument already
	}
	depth := AtChannel
	switch {
	case 2*counts[worst] < total:
		depth = NowAndThen
	case worst == daq.Missing && c.needs() != "":
		depth = AtNeedy
	}
	d.find(depth, "channel "+c.Name+": "+c.lookAt(worst), fmt.Sprintf("%s in %d of %d readings", worst, counts[worst], total))
}

// supply notes an instrument all of whose loops, several of them, are open:
// what they have in common is their supply. It returns false when that is not
// so.
func (d *diagnosis) supply(p Probe, counts map[int]map[daq.Health]int) bool {
	loops := 0
	for i, c := range d.bench.Channels {
		switch {
		case c.Instrument != p.Instrument || c.input() != loop:
		case counts[i][daq.BrokenWire] > len(p.Scans)/2:
			loops++
		default:
			return false
		}
	}
	if loops < 2 {
		return false
	}
	d.find(AtChannel, fmt.Sprintf("instrument %s: the supply of its current loops (24 V): all %d of them are open", p.Instrument, loops),
		"broken wire on every loop that it reads")
	return true
}

// lookAt says which terminal, wire or key a channel's health points to.
func (c Channel) lookAt(h daq.Health) string {
	input := c.input()
	switch h {
	case daq.BrokenWire:
		switch input {
		case loop:
			return "its loop is open: look at its plus and minus terminals, the cable's plug at the transducer, and the loop's supply"
		case thermocouple:
			return "its thermocouple is open: look at its two terminals and at the junction"
		case resistance:
			return "its resistance thermometer is open: look at its terminals and its cable"
		}
		return "its wire is broken: look at its terminals"
	case daq.ShortCircuit:
		switch input {
		case loop:
			return "its loop carries too much: a short between plus and minus, water in the plug, or a transducer that has failed"
		case resistance:
			return "its resistance thermometer is shorted: look at its terminals and its cable"
		}
		return "it is shorted: look at its terminals and its cable"
	case daq.UnderRange, daq.OverRange:
		return c.beyond(h, input)
	case daq.Stuck:
		return "it does not move at all: is it the right register or column, and is the transducer's shut-off valve open?"
	case daq.TooFast:
		return "it jumps faster than what it measures can: look for a loose contact and at the shield"
	case daq.Missing:
		if needs := c.needs(); needs != "" {
			return "channel " + needs + ", which it needs, has no healthy reading, so look there first; or the instrument sends no number for it"
		}
		return "the instrument sends no number for it: see that something is wired to this input"
	}
	return "what comes is no number that it could be: look at type, word order and scaling in the bench file"
}

// needs is the channel without whose reading this one has none; one at most.
func (c Channel) needs() string { return c.ColdJunction.Channel + c.Excitation.Channel }

// beyond says where to look when a channel is outside what it can measure.
func (c Channel) beyond(h daq.Health, input input) string {
	direction := "below"
	if h == daq.OverRange {
		direction = "above"
	}
	switch {
	case input == loop && h == daq.UnderRange:
		return "its loop carries less than 3.8 mA: the transducer's supply, plus and minus swapped, or its zero; then range and scaling in the bench file"
	case input == loop:
		return "its loop carries more than 20.5 mA: the pressure is beyond the transducer's range, or it has failed; then range and scaling in the bench file"
	case input == thermocouple:
		return "its thermocouple reads " + direction + " its range: plus and minus swapped, or the wrong type in the bench file"
	}
	return "it reads " + direction + " its range: look at range, unit, type and word order in the bench file, then at the transducer"
}

// input is how a channel's sensor is wired, as far as it tells where to look.
type input int

const (
	other input = iota
	loop
	thermocouple
	resistance
)

func (c Channel) input() input {
	kind, _ := sensor.KindOf(c.Conversion)
	switch {
	case kind.Key == "thermocouple":
		return thermocouple
	case kind.Key == "rtd":
		return resistance
	case c.RawQuantity == si.Current && c.Quantity != si.Current:
		return loop
	}
	return other
}
