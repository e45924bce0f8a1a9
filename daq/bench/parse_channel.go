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
}

// channels reads [[channel]], then looks at them together.
func (p *parser) channels(tables []*strict.Table) {
	names := map[string]int{}
	for _, t := range tables {
		c := Channel{Name: name(t, names), Line: t.Line(), RawScale: 1,
			RangeLow: math.NaN(), RangeHigh: math.NaN()}
		word := t.Required("quantity").OneOf("pressure", "temperature", "voltage", "current")
		c.Quantity = channelQuantities[word]
		instrument := t.Required("instrument")
		c.Instrument = instrument.Text()
		from, known := p.bench.instrument(c.Instrument)
		if !known && c.Instrument != "" {
			instrument.Fault(strict.Quote(c.Instrument), "the name of an instrument"+listed(p.instrumentNames()))
		}
		place(&c, from.Kind, t)
		conversion(&c, t, word != "")
		figures(&c, t, word != "")
		c.Calibration = calibration(t.Optional("calibration").Table(), c.Quantity, word != "")
		p.bench.Channels = append(p.bench.Channels, c)
		p.channelTables = append(p.channelTables, t)
	}
	p.overlaps()
	p.idle()
}

// place reads where in an instrument's answer the channel stands; kind is
// empty where the instrument is not known, so that its keys are not judged.
func place(c *Channel, kind string, t *strict.Table) {
	modbus := []strict.Key{t.Optional("register"), t.Optional("function"), t.Optional("type"), t.Optional("word_order")}
	column := t.Optional("column")
	switch kind {
	case ModbusRTU:
		column.Refuse(TextStream + " only")
		c.Function = t.Required("function").Int(3, 4)
		c.Type = t.Required("type").OneOf("int16", "float32")
		c.Register = t.Required("register").Int(0, 65535)
		if register := modbus[0]; c.Type == "float32" && c.Register == 65535 {
			register.Fault("65535", "at most 65534 for float32, which takes two registers")
		}
		if c.Type == "float32" {
			c.WordOrder = t.Required("word_order").OneOf("high-first", "low-first")
		} else if c.Type != "" {
			modbus[3].Refuse("float32 only")
		}
	case TextStream:
		for _, k := range modbus {
			k.Refuse(ModbusRTU + " only")
		}
		c.Column = t.Required("column").Int(1, 1000)
	}
}

// registers is how many registers the channel takes.
func (c Channel) registers() int {
	if c.Type == "float32" {
		return 2
	}
	return 1
}

// overlaps notes two channels that read the same registers or column: one of
// them would show what the other measures.
func (p *parser) overlaps() {
	all := p.bench.Channels
	for i, c := range all {
		kind, _ := p.bench.instrument(c.Instrument)
		for _, other := range all[:i] {
			if other.Instrument != c.Instrument {
				continue
			}
			t := p.channelTables[i]
			switch {
			case kind.Kind == TextStream && c.Column == other.Column && c.Column > 0:
				k := t.Optional("column")
				k.Fault(k.Found()+", which channel "+strict.Quote(other.Name)+" reads already", "another column")
			case kind.Kind == ModbusRTU && c.Function != 0 && c.Type != "" && c.Function == other.Function && other.Type != "" &&
				c.Register < other.Register+other.registers() && other.Register < c.Register+c.registers():
				k := t.Optional("register")
				k.Fault(k.Found()+" ("+c.Type+"), which overlaps channel "+strict.Quote(other.Name)+" ("+other.Type+")",
					"registers of its own")
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
