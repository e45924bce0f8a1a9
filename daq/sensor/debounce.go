package sensor

import (
	"fmt"
	"time"
)

// Debouncer finds the edges of a digital input whose contact may chatter. It
// is given each healthy reading in turn.
//
// The edge's time is the first reading of the new state that then held for
// Hold; the contact itself moved somewhere between the reading before that and
// it. Readings that stay away in between only widen that interval.
type Debouncer struct {
	// Hold is how long the new state must be read, without the old one in
	// between, to be the state.
	Hold time.Duration

	known   bool
	on      bool
	last    time.Duration // of the newest reading of the state
	turned  bool          // the newest reading was of the other state
	first   time.Duration // since then
	bounces int
	bounced time.Duration // when the contact last fell back
}

// Edge is a change of state.
type Edge struct {
	// From is the last reading of the old state, To the first of the new one.
	From, To time.Duration
	On       bool
	// Bounces is how often the contact had gone over and fallen back, one time
	// less than Hold after the other.
	Bounces int
}

// Take takes the state read at an instant, which is after the last one. It
// returns the edge that is certain now, which lies in the past by as much as
// Hold; found is false where none is. The first reading is no edge.
func (d *Debouncer) Take(at time.Duration, on bool) (e Edge, found bool) {
	switch {
	case !d.known:
		d.known, d.on = true, on
	case on != d.on:
		if !d.turned {
			d.turned, d.first = true, at
		}
		if at-d.first < d.Hold {
			return Edge{}, false
		}
		e = Edge{From: d.last, To: d.first, On: on, Bounces: d.bounces}
		d.on, d.turned, d.bounces = on, false, 0
		d.last = at
		return e, true
	case d.turned:
		d.turned = false
		d.bounces++
		d.bounced = at
	case at-d.bounced >= d.Hold:
		d.bounces = 0 // it came to rest where it was
	}
	d.last = at
	return Edge{}, false
}

// String says what an event does: "on", or "off after 3 bounces".
func (e Edge) String() string {
	word := OnOff(e.On)
	switch e.Bounces {
	case 0:
		return word
	case 1:
		return word + " after 1 bounce"
	}
	return fmt.Sprintf("%s after %d bounces", word, e.Bounces)
}

// OnOff is the word for a state.
func OnOff(on bool) string {
	if on {
		return "on"
	}
	return "off"
}
