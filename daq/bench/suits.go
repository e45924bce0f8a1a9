package bench

import (
	"fmt"
	"math"

	"holdbench/analysis/si"
	"holdbench/daq/sensor"
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
		if reach, by := b.reach(trapped); !known || !(reach >= highest) {
			bar := si.DefaultDisplay.Pressure
			more := ""
			if by == "scaling" && !trapped.Scaling.carries() {
				more = "; where the module carries more than scaling's points say, raw_range says how far"
			}
			faults.Add(&strict.Error{File: b.Path, Line: trapped.Line, Field: fmt.Sprintf("channel %q: %s", trapped.Name, by),
				Found: fmt.Sprintf("up to %.6g bar", bar.FromSI(reach)),
				Want:  fmt.Sprintf("at least the procedure's maximum pressure, %.6g bar%s", bar.FromSI(highest), more)})
		}
	}
	return faults.Err()
}

// reach is the highest value that a channel tells, as its values are recorded,
// SI, and the key that says so: what its signal carries may end below its
// range. NaN where no range is stated.
func (b *Bench) reach(c Channel) (highest float64, by string) {
	_, highest = b.GaugeRange(c)
	carried, by := c.carried()
	if carried += highest - c.RangeHigh; carried < highest-carriedRounding*math.Abs(highest) {
		return carried, by
	}
	return highest, "range"
}

// carriedRounding is by how much of itself an end may be missed by rounding.
const carriedRounding = 1e-9

// carried is the highest value that the signal carries, SI, by the conversion's
// own ends, and the key that says so; +Inf where it knows none.
func (c Channel) carried() (highest float64, by string) {
	conversion := c.conversion()
	ends, ok := conversion.(interface{ Highest() float64 })
	if !ok {
		return math.Inf(1), ""
	}
	kind, _ := sensor.KindOf(conversion)
	by = kind.Key
	if _, is := conversion.(sensor.Polynomial); is || by == "scaling" && c.Scaling.carries() {
		by = "raw_range"
	}
	return ends.Highest(), by
}

// carries says whether it is stated what signals can be carried.
func (s Scaling) carries() bool { return s.CarriedHigh > s.CarriedLow }

// Uncarried returns the channels whose range goes on where the points of their
// scaling end, and of which nothing says how far the signal is carried: above
// those points a module that carries no more reads the same whatever the
// pressure.
func (b *Bench) Uncarried() (out []Channel) {
	for _, c := range b.Channels {
		if highest, by := c.carried(); by == "scaling" && c.RangeHigh > highest+carriedRounding*math.Abs(highest) {
			out = append(out, c)
		}
	}
	return out
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
