package bench

import (
	"slices"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// Unmeasured is the feed of a circuit whose feed side has no transducer.
const Unmeasured = "unmeasured"

// positions reads [[position]] and its circuits.
func (p *parser) positions(tables []*strict.Table) {
	p.trapped = map[string]string{}
	names := map[string]int{}
	for _, t := range tables {
		k := t.Required("name")
		pos := Position{Name: unique(k, "name", k.Text(), names)}
		taken := map[string]int{}
		for _, ct := range t.Required("circuit").Tables() {
			pos.Circuits = append(pos.Circuits, p.circuit(ct, pos.Name, taken))
		}
		pos.PumpState = p.stateOf(t.Optional("pump_state"))
		p.bench.Positions = append(p.bench.Positions, pos)
	}
}

func (p *parser) circuit(t *strict.Table, position string, taken map[string]int) Circuit {
	k := t.Required("name")
	c := Circuit{Name: unique(k, "circuit", k.OneOf("a", "b"), taken)}

	trapped := t.Required("trapped")
	c.Trapped = p.channelOf(trapped, si.Pressure)
	p.trappedOnce(trapped, c.Trapped, "circuit "+c.Name+" of position "+position)
	p.feed(t, &c)
	c.WarningSwitch = p.stateOf(t.Optional("warning_switch"))
	if k := t.Optional("temperature"); k.Given() {
		c.Temperature, c.MoreTemperatures = p.temperatures(k)
	}
	return c
}

// temperatures reads one temperature channel or a list of them.
func (p *parser) temperatures(k strict.Key) (first string, more []string) {
	if !k.Listed() {
		return p.channelOf(k, si.Temperature), nil
	}
	var names []string
	for _, e := range k.List(p.channelWanted(si.Temperature)+", or a list of them", 1) {
		name := p.channelOf(e, si.Temperature)
		switch {
		case name == "":
		case slices.Contains(names, name):
			e.Fault(strict.Quote(name)+" again", "each channel once")
		default:
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return "", nil
	}
	return names[0], names[1:]
}

// trappedOnce notes a transducer without a range (its saturation would not be
// seen) and one that watches two circuits.
func (p *parser) trappedOnce(k strict.Key, channel, where string) {
	_, i, ok := p.bench.Channel(channel)
	if !ok {
		return
	}
	if !p.channelTables[i].Has("range") {
		k.Fault(strict.Quote(channel)+", a channel without range", `a channel whose range is stated, e.g. range = ["0 bar", "250 bar"]`)
	}
	if other := p.trapped[channel]; other != "" {
		k.Fault(strict.Quote(channel)+", the trapped side of "+other, "a transducer of its own for each circuit")
		return
	}
	p.trapped[channel] = where
}

// feed reads the feed side, which must be measured or declared unmeasured.
func (p *parser) feed(t *strict.Table, c *Circuit) {
	k := t.Optional("feed")
	if k.Written() == Unmeasured {
		c.FeedUnmeasured = true
		return
	}
	const or = `, or feed = "unmeasured" where the feed side has no transducer`
	if !k.Given() {
		k.Fault("nothing", p.channelWanted(si.Pressure)+or)
		return
	}
	c.Feed = p.channelOr(k, si.Pressure, or)
	if c.Feed != "" && c.Feed == c.Trapped {
		k.Fault(strict.Quote(c.Feed)+", which is the trapped side", "another channel"+or)
	}
}

// channelOf reads the name of a channel that measures q; empty unless it is
// one.
func (p *parser) channelOf(k strict.Key, q si.Quantity) string { return p.channelOr(k, q, "") }

// channelOr is channelOf where something else might stand as well.
func (p *parser) channelOr(k strict.Key, q si.Quantity, or string) string {
	name := k.Text()
	if name == "" {
		return ""
	}
	c, i, ok := p.bench.Channel(name)
	switch {
	case !ok:
		k.Fault(strict.Quote(name)+", which is no channel", p.channelWanted(q)+or)
	case c.State:
		k.Fault(strict.Quote(name)+", a state channel", p.channelWanted(q)+or)
	case c.Quantity == q:
		return name
	case p.channelTables[i].Optional("quantity").Written() == c.Quantity.String():
		k.Fault(strict.Quote(name)+", a "+c.Quantity.String()+" channel", p.channelWanted(q)+or)
	}
	return "" // or the channel's own quantity is at fault, and that was said
}

// channelWanted names the channels that measure q.
func (p *parser) channelWanted(q si.Quantity) string {
	var names []string
	for _, c := range p.bench.Channels {
		if c.Quantity == q {
			names = append(names, c.Name)
		}
	}
	return "a " + q.String() + " channel" + listed(names)
}
