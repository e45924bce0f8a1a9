package bench

import (
	"fmt"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// Suits reports whether a test of some circuits up to a highest gauge
// pressure, Pa, can be run at the position: each circuit must be there, and
// its transducer must read to that pressure, or an overpressure would not be
// seen. The error joins one *strict.Error for each thing that is missing.
func (b *Bench) Suits(position Position, circuits []string, highest float64) error {
	var faults strict.Faults
	for _, name := range circuits {
		c, ok := position.circuit(name)
		if !ok {
			faults.Add(&strict.Error{File: b.Path, Field: "position " + strict.Quote(position.Name),
				Found: "no circuit " + strict.Quote(name), Want: "a [[position.circuit]] for it, as the procedure tests it"})
			continue
		}
		trapped, _, known := b.Channel(c.Trapped)
		if _, reach := b.GaugeRange(trapped); !known || !(reach >= highest) {
			bar := si.DefaultDisplay.Pressure
			faults.Add(&strict.Error{File: b.Path, Line: trapped.Line, Field: fmt.Sprintf("channel %q: range", trapped.Name),
				Found: fmt.Sprintf("up to %.6g bar", bar.FromSI(reach)),
				Want:  fmt.Sprintf("at least the procedure's maximum pressure, %.6g bar", bar.FromSI(highest))})
		}
	}
	return faults.Err()
}

// circuit returns the position's circuit of that name.
func (p Position) circuit(name string) (Circuit, bool) {
	for _, c := range p.Circuits {
		if c.Name == name {
			return c, true
		}
	}
	return Circuit{}, false
}

// GaugeRange returns the ends of a channel's range as its values are
// recorded, SI: of an absolute transducer less the ambient pressure of the
// bench file (the default where a channel measures it), of any other as
// stated; NaN when not stated.
func (b *Bench) GaugeRange(c Channel) (low, high float64) {
	if c.Absolute && c.Name != b.Ambient.Channel {
		return c.RangeLow - b.Ambient.Pressure.Value, c.RangeHigh - b.Ambient.Pressure.Value
	}
	return c.RangeLow, c.RangeHigh
}
