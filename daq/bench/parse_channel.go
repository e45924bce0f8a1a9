package bench

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// channelQuantities are the quantities that a channel may measure, by the
// words of bench files.
var channelQuantities = map[string]si.Quantity{
	"pressure":    si.Pressure,
	"temperature": si.Temperature,
	"voltage":     si.Voltage,
	"current":     si.Current,
	stateWord:     si.Dimensionless,
}

// channels reads [[channel]], then looks at them together.
func (p *parser) channels(tables []*strict.Table) {
	names := map[string]int{}
	for _, t := range tables {
		c := Channel{Name: name(t, names), Line: t.Line(), RawScale: 1,
			RangeLow: math.NaN(), RangeHigh: math.NaN()}
		word := t.Required("quantity").OneOf("pressure", "temperature", "voltage", "current", stateWord)
		c.Quantity, c.State = channelQuantities[word], word == stateWord
		instrument := t.Required("instrument")
		c.Instrument = instrument.Text()
		from, known := p.bench.instrument(c.Instrument)
		if !known && c.Instrument != "" {
			instrument.Fault(strict.Quote(c.Instrument), "the name of an instrument"+listed(p.instrumentNames()))
		}
		place(&c, from, t)
		if c.State {
			state(&c, t)
		} else {
			conversion(&c, t, word != "")
			figures(&c, t, word != "")
			tolerance(&c, t, word != "")
			believable(&c, from, t, word != "")
			c.Calibration = calibration(t.Optional("calibration").Table(), c, word != "")
			notState(t, word != "")
		}
		p.bench.Channels = append(p.bench.Channels, c)
		p.channelTables = append(p.channelTables, t)
	}
	p.companions()
	p.overlaps()
	p.idle()
}

// place reads where in an instrument's answer the channel stands; where the
// instrument is not known, its keys are not judged.
func place(c *Channel, from Instrument, t *strict.Table) {
	k, known := kindOf(from.Kind)
	k.refuseOthers(t, func(k kind) []string { return k.channelKeys })
	if known {
		k.place(c, from, t)
	}
}

// overlaps notes two channels that read the same place: one of them would show
// what the other measures.
func (p *parser) overlaps() {
	all := p.bench.Channels
	for i, c := range all {
		from, _ := p.bench.instrument(c.Instrument)
		k, known := kindOf(from.Kind)
		for _, other := range all[:i] {
			if !known || other.Instrument != c.Instrument {
				continue
			}
			if key, found, want := k.same(c, other); key != "" {
				at := p.channelTables[i].Optional(key)
				at.Fault(at.Found()+found, want)
			}
		}
	}
}

// idle notes an instrument that no channel reads.
func (p *parser) idle() {
	for i, instrument := range p.bench.Instruments {
		used := false
		for _, c := range p.bench.Channels {
			used = used || c.Instrument == instrument.Name
		}
		if !used && instrument.Name != "" {
			p.instrumentTables[i].Fault("no channel that reads it", "at least one [[channel]] with instrument = "+strict.Quote(instrument.Name))
		}
	}
}
