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
	instrumentKeys: formatKeys,
	channelKeys:    placeKeys,
	instrument:     func(i *Instrument, _ *Link, t *strict.Table) { format(i, t) },
	place:          func(c *Channel, from Instrument, t *strict.Table) { textPlace(c, from, t, false) },
	same:           sameText,
	open:           openText,
}

func openText(s *daq.Source, w *wire, in Instrument, channels []Channel) {
	c := textline.Config{Format: in.Format(), Terminator: in.Text.Terminator, Interval: in.Interval}
	for _, channel := range channels {
		c.Fields = append(c.Fields, channel.TextField())
	}
	instrument := textline.NewStream(w.port, w.clock, c)
	s.Instrument, s.Stamp = instrument, instrument.Stamp
	s.Counted = func() string { return instrument.Counts().String() }
}
