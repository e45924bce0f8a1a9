package bench

import (
	"time"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// stateWord is the quantity of a digital input, a switch or a flag, as written
// in bench files.
const stateWord = "state"

// defaultDebounce is how long a contact may chatter: most come to rest within
// some milliseconds (own choice, on the safe side).
const defaultDebounce = 20 * time.Millisecond

// longestDebounce bounds it: a switch that needs longer tells of nothing.
const longestDebounce = 10 * time.Second

// state reads the keys that only a state channel has, and refuses those of
// measured quantities.
func state(c *Channel, t *strict.Table) {
	c.RawUnit, c.RawQuantity = Counts, si.Dimensionless
	c.Inverted = t.Optional("inverted").Bool()
	c.Debounce = defaultDebounce
	if k := t.Optional("debounce"); k.Given() {
		c.Debounce = k.Duration(0, longestDebounce)
	}
	for _, key := range append([]string{"raw_scale", "raw_offset", "raw_unit", "reference", "range", "accuracy",
		"gain_uncertainty", "drift", "temperature_effect", "resolution", "calibration"}, sensorKeys...) {
		t.Optional(key).Refuse("a state is on or off")
	}
}

// notState refuses the keys of a state channel elsewhere; known is false where
// the channel's quantity is not.
func notState(t *strict.Table, known bool) {
	for _, key := range []string{"inverted", "debounce"} {
		if k := t.Optional(key); known {
			k.Refuse(`quantity = "state" only`)
		}
	}
}

// stateOf reads the name of a state channel; empty unless it is one.
func (p *parser) stateOf(k strict.Key) string {
	if !k.Given() {
		return ""
	}
	name := k.Text()
	if name == "" {
		return ""
	}
	var names []string
	for _, c := range p.bench.Channels {
		if c.State {
			names = append(names, c.Name)
		}
	}
	want := "a state channel" + listed(names)
	c, _, ok := p.bench.Channel(name)
	switch {
	case !ok:
		k.Fault(strict.Quote(name)+", which is no channel", want)
	case c.State:
		return name
	case c.Quantity != si.Dimensionless: // else its own quantity is at fault
		k.Fault(strict.Quote(name)+", a "+c.Quantity.String()+" channel", want)
	}
	return ""
}
