package sequence

import (
	"fmt"
	"math"
	"time"

	"holdbench/daq"
)

const (
	// overFor is how long a pressure channel may be above the maximum pressure
	// without a value that is believed: over its range, where nobody knows how
	// far above, or changing faster than it can.
	overFor = time.Second
	// overAgain is how soon, at the least, the next such reading must follow for
	// both to be of one stretch. A pump's strokes bring it below in between.
	overAgain = 500 * time.Millisecond
)

// over follows how long one channel has been above the maximum pressure, as far
// as its readings that are not believed tell.
type over struct {
	is         bool
	from, last time.Duration // of the readings above
	health     daq.Health    // of the last one
	value      float64       // what that would be
}

// take reads one reading of a channel with that interval. One that is not above
// ends nothing by itself: between two strokes the pressure is what it may be.
func (o *over) take(at time.Duration, r Reading, interval time.Duration, highest float64) {
	if r.Health != daq.OverRange && !(r.doubted() && r.Doubted > highest) {
		return
	}
	if !o.is || at-o.last > max(3*interval, overAgain) {
		o.from = at
	}
	o.is, o.last, o.health, o.value = true, at, r.Health, r.Doubted
}

// long says whether it has been above for too long.
func (o *over) long() bool { return o.is && o.last-o.from >= overFor }

// doubted says whether the reading has a value that is not believed.
func (r Reading) doubted() bool {
	return (r.Health == daq.TooFast || r.Health == daq.Stuck) && !math.IsNaN(r.Doubted)
}

// interlock aborts the test when a pressure is above the maximum, or when the
// recording cannot be written.
func (m *Machine) interlock(in Input) {
	if in.RecordingFault != "" {
		m.trip("", "recording", in.RecordingFault)
	}
	for _, r := range in.Readings {
		if r.Part == Temperature || !m.testing() {
			continue
		}
		name := m.roles.Circuits[r.Circuit].Name
		o := m.over[r.Circuit][r.Part]
		switch {
		case r.healthy() && r.Value > m.p.MaxPressure:
			m.trip(name, "maximum pressure", fmt.Sprintf("%s %s %s, above %s", r.Part, name,
				m.roles.pressure(r.Value), m.roles.pressure(m.p.MaxPressure)))
		case o.long() && o.health == daq.OverRange:
			m.trip(name, "maximum pressure", fmt.Sprintf("%s %s over the range of its transducer", r.Part, name))
		case o.long():
			m.trip(name, "maximum pressure", fmt.Sprintf("%s %s again and again above %s, at last %s; none of it is believed: %s", r.Part, name,
				m.roles.pressure(m.p.MaxPressure), m.roles.pressure(o.value), o.health))
		}
	}
}

// trip records an interlock and aborts.
func (m *Machine) trip(circuit, which, text string) {
	m.record(daq.Interlock, circuit, which, text)
	if m.testing() {
		m.abort(which, text)
	}
}
