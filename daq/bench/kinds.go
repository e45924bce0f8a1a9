package bench

import (
	"holdbench/daq"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
	"holdbench/daq/textline"
)

// kind is one kind of instrument: what it is called in bench files, whether
// it sends unasked (and then owns its link alone), and how it is opened: open
// fills the source's Instrument, and Asked where the kind knows it.
type kind struct {
	name    string
	streams bool
	open    func(s *daq.Source, w *wire, in Instrument, channels []Channel)
}

// kinds is every kind of instrument there is.
var kinds = []kind{
	{name: ModbusRTU, open: openModbus},
	{name: TextStream, streams: true, open: openText},
}

func kindOf(name string) (kind, bool) {
	for _, k := range kinds {
		if k.name == name {
			return k, true
		}
	}
	return kind{}, false
}

// wire is an open link and what its instruments share.
type wire struct {
	port   *link.Port
	clock  daq.Clock
	master *modbus.Client // of this line; nil until a Modbus instrument needs it
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
	s.Instrument, s.Asked = instrument, instrument.Asked
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

// separators by their word in bench files; others stand for themselves.
var separators = map[string]string{"tab": "\t", "space": " "}

func openText(s *daq.Source, w *wire, in Instrument, channels []Channel) {
	separator, ok := separators[in.Separator]
	if !ok {
		separator = in.Separator
	}
	c := textline.Config{Separator: separator, Interval: in.Interval}
	for _, channel := range channels {
		c.Columns = append(c.Columns, channel.Column)
	}
	s.Instrument = textline.NewStream(w.port, c)
}
