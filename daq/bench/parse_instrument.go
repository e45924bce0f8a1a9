package bench

import (
	"slices"
	"strings"
	"time"

	"holdbench/daq/strict"
)

// instruments reads [[instrument]].
func (p *parser) instruments(tables []*strict.Table) {
	names := map[string]int{}
	for _, t := range tables {
		i := Instrument{Name: name(t, names), Line: t.Line()}
		i.Kind = t.Required("kind").OneOf(kindNames()...)
		link := t.Required("link")
		i.Link = link.Text()
		l, known := p.bench.link(i.Link)
		if !known && i.Link != "" {
			link.Fault(strict.Quote(i.Link), "the name of a link"+listed(p.linkNames()))
		}
		i.Interval = t.Required("interval").Duration(time.Millisecond, time.Hour)
		watchdog(&i, t)
		k, _ := kindOf(i.Kind)
		k.refuseOthers(t, func(k kind) []string { return k.instrumentKeys })
		if k.instrument != nil {
			var on *Link
			if known {
				on = &l
			}
			k.instrument(&i, on, t)
		}
		p.sharing(i, link, t)
		p.bench.Instruments = append(p.bench.Instruments, i)
		p.instrumentTables = append(p.instrumentTables, t)
	}
}

// sharing notes an instrument that cannot stand beside another on its link:
// one that talks unasked, or one with the same address.
func (p *parser) sharing(i Instrument, link strict.Key, t *strict.Table) {
	for _, other := range p.bench.Instruments {
		switch {
		case other.Link != i.Link || i.Link == "":
		case i.streams() || other.streams():
			link.Fault(strict.Quote(i.Link)+", shared with instrument "+strict.Quote(other.Name),
				"a link of its own for an instrument that streams")
		case i.Kind != other.Kind && i.Kind != "" && other.Kind != "":
			link.Fault(strict.Quote(i.Link)+", which speaks "+other.Kind+" with instrument "+strict.Quote(other.Name),
				"a link of its own for each kind")
		case i.mistakable(other):
			t.Optional("prefix").Fault(strict.Quote(i.Text.Prefix), "what begins the replies of this instrument alone, e.g. its address, as instrument "+
				strict.Quote(other.Name)+" answers on the same link")
		case i.Address == other.Address && (i.Address != 0 || i.Kind == ModbusTCP):
			address := t.Optional("address")
			address.Fault(address.Found()+", the address of instrument "+strict.Quote(other.Name)+" on the same link",
				"another address, or one instrument for all its channels")
		}
	}
}

// streams reports whether the instrument sends unasked.
func (i Instrument) streams() bool {
	k, _ := kindOf(i.Kind)
	return k.streams
}

// instrument returns the instrument of that name.
func (b *Bench) instrument(name string) (Instrument, bool) {
	for _, i := range b.Instruments {
		if i.Name == name {
			return i, true
		}
	}
	return Instrument{}, false
}

func (p *parser) linkNames() []string {
	var names []string
	for _, l := range p.bench.Links {
		names = append(names, l.Name)
	}
	return names
}

func (p *parser) instrumentNames() []string {
	var names []string
	for _, i := range p.bench.Instruments {
		names = append(names, i.Name)
	}
	return names
}

// listed is " (a, b, c)" for a message that names what there is.
func listed(names []string) string {
	var each []string
	for _, n := range names {
		if n != "" && !slices.Contains(each, n) {
			each = append(each, n)
		}
	}
	if len(each) == 0 {
		return ""
	}
	return " (" + strings.Join(each, ", ") + ")"
}
