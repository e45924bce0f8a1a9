package bench

import (
	"time"

	"holdbench/daq"
	"holdbench/daq/sensor"
)

// states has a source read its digital inputs as such: their readings are 0
// and 1, and their edges are found.
func (b *Bench) states(s *daq.Source) {
	debouncers := map[int]*sensor.Debouncer{} // by channel
	for _, i := range s.Channels {
		if c := b.Channels[i]; c.State {
			debouncers[i] = &sensor.Debouncer{Hold: c.Debounce}
		}
	}
	if len(debouncers) == 0 {
		return
	}
	convert := s.Convert
	s.Convert = func(at time.Duration, dst []daq.Reading, src []daq.Signal) {
		convert(at, dst, src)
		for k, i := range s.Channels {
			if debouncers[i] != nil {
				dst[k] = sensor.State(src[k], b.Channels[i].Inverted)
				dst[k].Channel = i
			}
		}
	}
	s.Found = func(scan daq.Scan) (found []daq.Event) {
		for _, r := range scan.Readings {
			d := debouncers[r.Channel]
			if d == nil || r.Health != daq.Healthy {
				continue
			}
			if e, ok := d.Take(scan.At, r.Value == 1); ok {
				found = append(found, b.edge(r.Channel, e))
			}
		}
		return found
	}
}

// edge is an edge of a channel as an event.
func (b *Bench) edge(channel int, e sensor.Edge) daq.Event {
	name := b.Channels[channel].Name
	return daq.Event{At: e.From, Until: e.To, Kind: daq.Edge, Circuit: b.switchOf(name), Subject: name, Text: e.String()}
}

// switchOf is the circuit whose warning switch a channel is; empty where it is
// none, or one of several circuits.
func (b *Bench) switchOf(channel string) string {
	circuit := ""
	for _, p := range b.Positions {
		for _, c := range p.Circuits {
			switch {
			case c.WarningSwitch != channel || circuit == c.Name:
			case circuit == "":
				circuit = c.Name
			default:
				return ""
			}
		}
	}
	return circuit
}
