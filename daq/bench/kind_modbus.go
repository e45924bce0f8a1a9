package bench

import (
	"holdbench/daq"
	"holdbench/daq/modbus"
	"holdbench/daq/strict"
)

// modbusRTU is a slave on a serial line.
var modbusRTU = kind{
	name:           ModbusRTU,
	instrumentKeys: []string{"address"},
	channelKeys:    []string{"register", "function", "type", "word_order"},
	instrument: func(i *Instrument, on *Link, t *strict.Table) {
		i.Address = t.Required("address").Int(1, 247)
		if on != nil && on.DataBits == 7 {
			link := t.Required("link")
			link.Fault(strict.Quote(i.Link)+" with 7 data bits", "a link with data_bits = 8, as Modbus RTU sends bytes")
		}
	},
	place: modbusPlace,
	same:  sameRegisters,
	open:  openModbus,
}

func modbusPlace(c *Channel, _ Instrument, t *strict.Table) {
	c.Function = t.Required("function").Int(3, 4)
	c.Type = t.Required("type").OneOf("int16", "float32")
	register, order := t.Required("register"), t.Optional("word_order")
	c.Register = register.Int(0, 65535)
	if c.Type == "float32" && c.Register == 65535 {
		register.Fault("65535", "at most 65534 for float32, which takes two registers")
	}
	if c.Type == "float32" {
		c.WordOrder = t.Required("word_order").OneOf("high-first", "low-first")
	} else if c.Type != "" {
		order.Refuse("float32 only")
	}
}

// registers is how many registers the channel takes.
func (c Channel) registers() int {
	if c.Type == "float32" {
		return 2
	}
	return 1
}

func sameRegisters(c, other Channel) (key, found, want string) {
	if c.Function == 0 || c.Type == "" || other.Type == "" || c.Function != other.Function ||
		c.Register >= other.Register+other.registers() || other.Register >= c.Register+c.registers() {
		return "", "", ""
	}
	return "register", " (" + c.Type + "), which overlaps channel " + strict.Quote(other.Name) + " (" + other.Type + ")", "registers of its own"
}

func openModbus(s *daq.Source, w *wire, in Instrument, channels []Channel) {
	if w.master == nil {
		w.master = modbus.NewClient(w.port, w.clock)
	}
	points := make([]modbus.Point, len(channels))
	for i, c := range channels {
		points[i] = modbus.Point{Function: byte(c.Function), Register: uint16(c.Register), Type: modbusType(c)}
	}
	instrument := modbus.NewInstrument(w.master, byte(in.Address), points)
	s.Instrument, s.Stamp = instrument, instrument.Stamp
}

func modbusType(c Channel) modbus.Type {
	switch {
	case c.Type != "float32":
		return modbus.Int16
	case c.WordOrder == "low-first":
		return modbus.Float32LowFirst
	}
	return modbus.Float32HighFirst
}
