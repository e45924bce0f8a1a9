package bench

import (
	"holdbench/daq"
	"holdbench/daq/strict"
	"holdbench/daq/textline"
)

// textStream is an instrument that sends lines of its own accord.
var textStream = kind{
	name:           TextStream,
	streams:        true,
	instrumentKeys: []string{"separator"},
	channelKeys:    []string{"column"},
	instrument: func(i *Instrument, _ *Link, t *strict.Table) {
		i.Separator = t.Required("separator").OneOf(",", ";", "tab", "space")
	},
	place: func(c *Channel, _ Instrument, t *strict.Table) {
		c.Column = t.Required("column").Int(1, 1000)
	},
	same: func(c, other Channel) (key, found, want string) {
		if c.Column != other.Column || c.Column == 0 {
			return "", "", ""
		}
		return "column", ", which channel " + strict.Quote(other.Name) + " reads already", "another column"
	},
	open: openText,
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
