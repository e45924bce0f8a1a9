package bench

import (
	"fmt"
	"time"

	"holdbench/daq"
	"holdbench/daq/strict"
)

// outputs reads outputs and [[output]]. t is the whole file.
func (p *parser) outputs(t *strict.Table) {
	drives := t.Optional("outputs")
	p.bench.DrivesOutputs = drives.Bool()
	names := map[string]int{}
	var tables []*strict.Table
	for _, ot := range t.Optional("output").Tables() {
		o := Output{Name: name(ot, names), Line: ot.Line()}
		o.Role = daq.Role(ot.Required("role").OneOf(roleWords()...))
		instrument := ot.Required("instrument")
		o.Instrument = instrument.Text()
		from, known := p.bench.instrument(o.Instrument)
		k, _ := kindOf(from.Kind)
		k.refuseOthers(ot, func(k kind) []string { return k.outputKeys })
		switch {
		case !known && o.Instrument != "":
			instrument.Fault(strict.Quote(o.Instrument), "the name of an instrument"+listed(p.instrumentNames()))
		case k.outputPlace != nil:
			k.outputPlace(&o, from, ot)
		case from.Kind != "":
			instrument.Fault(strict.Quote(o.Instrument)+", of kind "+from.Kind, "an instrument that can switch outputs"+listed(drivingKinds()))
		}
		p.outputPosition(&o, ot.Optional("position"))
		p.bench.Outputs = append(p.bench.Outputs, o)
		tables = append(tables, ot)
	}
	if p.bench.DrivesOutputs && len(tables) == 0 {
		drives.Fault("true, but no [[output]]", "an [[output]] for each thing to switch, or no such key")
	}
	p.sameOutputs(tables)
}

// outputPosition reads the one position that an output serves.
func (p *parser) outputPosition(o *Output, k strict.Key) {
	if !k.Given() {
		return
	}
	o.Position = k.Text()
	var names []string
	for _, known := range p.bench.Positions {
		if known.Name == o.Position {
			return
		}
		names = append(names, known.Name)
	}
	if o.Position != "" {
		k.Fault(strict.Quote(o.Position), "the name of a position"+listed(names)+", or no such key where it serves all")
	}
}

// sameOutputs notes two outputs that are one.
func (p *parser) sameOutputs(tables []*strict.Table) {
	for i, o := range p.bench.Outputs {
		from, _ := p.bench.instrument(o.Instrument)
		k, _ := kindOf(from.Kind)
		for _, other := range p.bench.Outputs[:i] {
			if k.sameOutput == nil || other.Instrument != o.Instrument {
				continue
			}
			if key, found, want := k.sameOutput(o, other); key != "" {
				at := tables[i].Optional(key)
				at.Fault(at.Found()+found, want)
			}
		}
	}
}

// watchdog reads the module's own communication watchdog: it must wait for two
// scans at least, or one that comes late would switch its outputs off in the
// midst of a test.
func watchdog(i *Instrument, t *strict.Table) {
	k := t.Optional("watchdog")
	if !k.Given() {
		return
	}
	i.Watchdog = k.Duration(10*time.Millisecond, time.Hour)
	if i.Watchdog > 0 && i.Watchdog < 2*i.Interval {
		k.Fault(k.Found(), fmt.Sprintf("at least twice the scan interval, %.4g s, set so in the module too: else a late scan switches its outputs off", (2*i.Interval).Seconds()))
	}
}

func roleWords() []string {
	var out []string
	for _, r := range daq.Roles {
		out = append(out, string(r))
	}
	return out
}

// drivingKinds are the kinds of instruments that have outputs.
func drivingKinds() []string {
	var out []string
	for _, k := range kinds {
		if k.outputPlace != nil {
			out = append(out, k.name)
		}
	}
	return out
}
