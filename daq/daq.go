// Package daq knows the vocabulary of data acquisition (channel, signal,
// reading, scan, event), the clock, and the only scan loop. It knows no
// protocol, no file and no model of a hold.
//
// Conventions: times are time.Duration since the start of the clock; values
// are SI; pressure is gauge unless a name says absolute.
package daq

import (
	"context"
	"time"

	"holdbench/analysis/si"
)

// Health says whether a reading may be used, and if not, why. The zero value
// is Healthy.
type Health uint8

// What can be wrong with a reading.
const (
	Healthy      Health = iota
	Missing             // no answer, or the line carried no number for it
	UnderRange          // below what the channel can measure, or a loop's failure current on the low side
	OverRange           // above what the channel can measure, a loop's failure current on the high side, or the instrument says overload
	Invalid             // not a number, or not physically possible
	BrokenWire          // an open circuit: no current in a live-zero loop, an open thermocouple or resistance thermometer
	ShortCircuit        // a short: more current in a loop than a transmitter lets through, a sensor of no resistance
	Stuck               // has not moved for longer than what it measures can stand still
	TooFast             // changed faster than what it measures can
)

// Healths are all of them, the usable one first.
var Healths = []Health{Healthy, Missing, UnderRange, OverRange, Invalid, BrokenWire, ShortCircuit, Stuck, TooFast}

// String returns the word that files and pages use.
func (h Health) String() string {
	switch h {
	case Healthy:
		return "ok"
	case Missing:
		return "missing"
	case UnderRange:
		return "under range"
	case OverRange:
		return "over range"
	case BrokenWire:
		return "broken wire"
	case ShortCircuit:
		return "short circuit"
	case Stuck:
		return "stuck"
	case TooFast:
		return "too fast"
	}
	return "invalid"
}

// Channel is one column of a recording: a measured quantity at one place.
type Channel struct {
	// Name is unique in a bench, e.g. "trapped_a".
	Name     string
	Quantity si.Quantity
	// Converted is true where Raw differs from Value, so that a recording
	// keeps both.
	Converted bool
	// RawUnit is the unit of the raw number as written in the bench file,
	// e.g. "mA"; "1" for bare counts.
	RawUnit string
	// Instrument is the name of the instrument that reads the channel.
	Instrument string
	// Interval is the nominal time between two readings.
	Interval time.Duration
	// State is true for a digital input, a switch or a flag: its values are 0
	// and 1, and Quantity is si.Dimensionless.
	State bool
}

// Signal is what an instrument says of one of its channels: the raw number as
// sent (registers already joined, text already parsed), and its health.
type Signal struct {
	Raw    float64
	Health Health
}

// Reading is one channel at one instant. Channel is its index in the bench's
// list of channels. Value is SI, NaN unless Health is Healthy. Raw is in the
// channel's raw unit, NaN when nothing came. Doubted is what Value would be, SI,
// where Health is TooFast or Stuck, and says nothing elsewhere: nothing is
// judged by it, but an interlock looks at it.
type Reading struct {
	Channel int
	Raw     float64
	Value   float64
	Doubted float64
	Health  Health
}

// Scan is one instrument's answer at one instant.
type Scan struct {
	At         time.Duration
	Instrument string
	Readings   []Reading
}

// EventKind is the kind of an event, as written in events.csv.
type EventKind string

// The kinds of events.
const (
	PhaseBegins EventKind = "phase"    // Subject: the phase's name
	Gap         EventKind = "gap"      // Subject: the instrument that gave nothing; an interval
	Fault       EventKind = "fault"    // Subject: the channel or instrument; an interval or an instant
	Asked       EventKind = "asked"    // a prompt shown to the operator
	Answered    EventKind = "answered" // what the operator answered
	Note        EventKind = "note"
	Interlock   EventKind = "interlock" // Subject: which one
	Looked      EventKind = "look"      // at a growing hold; Subject: "3 of 12"; an interval until it is answered
	ZeroRead    EventKind = "zero"      // of a vented transducer; Subject: the channel, Text: what it read; an interval
	Compared    EventKind = "compared"  // of a channel with a reference; Subject: the channel, Text: see comparison.Words; an interval
	Edge        EventKind = "edge"      // of a digital input; Subject: the channel, Text: "on" or "off"; an interval: between the last scan before and the first after it
	Driven      EventKind = "driven"    // an output was switched; Subject: the output, Text: "on" or "off" and why
	Abort       EventKind = "abort"
	Vented      EventKind = "vented"   // measured and confirmed
	Override    EventKind = "override" // vented not shown; Text: the reason given
)

// Event is something that happened. An interval has Until > At; while it is
// still open (a gap that has begun) Until is Open, and the same event, with
// the same At, Kind and Subject, follows when it ends.
type Event struct {
	At, Until time.Duration
	Kind      EventKind
	// Circuit is "a", "b" or empty where the event concerns the whole bench.
	Circuit string
	Subject string
	Text    string
}

// Open marks an interval that has not ended yet.
const Open time.Duration = -1

// Instrument is something that can be asked for, or waited upon for, one set
// of its channels.
type Instrument interface {
	// Sample does one exchange, or waits for one line of a stream, and fills
	// dst, whose length is the number of the instrument's channels in bench
	// order. An error means that nothing was learned of any channel.
	Sample(ctx context.Context, dst []Signal) error
}

// Log is where scans and events are written before anything looks at them;
// record.Writer is one.
type Log interface {
	Scan(Scan) error
	Event(Event) error
}

// Clock is the time that everything outside analysis goes by. The wall clock
// is one; the demo's lock-step clock is another.
type Clock interface {
	// Now is the time since the clock's start. It never runs backwards.
	Now() time.Duration
	// Date is the calendar instant of a clock time.
	Date(at time.Duration) time.Time
	// Sleep returns when Now() ≥ until, or with the context's error.
	Sleep(ctx context.Context, until time.Duration) error
	// Join says that the calling goroutine keeps pace by Sleep: a lock-step
	// clock stands still while any joined goroutine is awake. The goroutine
	// calls leave when it stops doing so.
	Join() (leave func())
	// Kind is "wall" or "lock-step", for the recording.
	Kind() string
}
