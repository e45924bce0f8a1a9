package sequence

import (
	"math"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// Window is where one circuit's hold lies in a recording. Times in s since
// the clock's start, NaN where it did not come to that.
type Window struct {
	// LockBegan is the beginning of the phase lock: the pump side is still
	// connected, the operator is about to lock.
	LockBegan float64
	// Locked is the end of the phase lock: the circuit is certainly locked
	// from here on.
	Locked float64
	// HoldStart and HoldEnd are t0 and t1. HoldEnd is NaN when the recording
	// ends within the hold.
	HoldStart, HoldEnd float64
	// Completed is true when the hold ran to its end as the procedure says:
	// the phase release follows it, and no abort came in between.
	Completed bool
	// Aborted is true when the test was aborted before the hold had ended;
	// Cause says by what.
	Aborted bool
	Cause   string
}

// Windows reads from a recording's events, in the order in which they were
// recorded, where each circuit's hold lies. Its keys are the circuits that
// the phase events name. An event without a circuit concerns every circuit.
// It is the other half of what Machine records:
//
//   - a phase that begins is one event {Kind: PhaseBegins, Circuit, Subject:
//     phase} for each tested circuit;
//   - an abort before the end of the hold is {Kind: Abort, Subject: who,
//     Text: why}, followed by the phase release.
func Windows(events []daq.Event) map[string]Window {
	readers := map[string]*windowReader{}
	for _, e := range events {
		if e.Kind == daq.PhaseBegins && e.Circuit != "" && readers[e.Circuit] == nil {
			readers[e.Circuit] = newWindowReader()
		}
	}
	for _, e := range events {
		for circuit, r := range readers {
			if e.Circuit == "" || e.Circuit == circuit {
				r.take(e)
			}
		}
	}
	out := map[string]Window{}
	for circuit, r := range readers {
		out[circuit] = r.Window
	}
	return out
}

// windowReader follows one circuit through the events.
type windowReader struct {
	Window
	phase procedure.Phase
}

func newWindowReader() *windowReader {
	none := math.NaN()
	return &windowReader{Window: Window{LockBegan: none, Locked: none, HoldStart: none, HoldEnd: none}}
}

// take reads one event.
func (r *windowReader) take(e daq.Event) {
	switch {
	case e.Kind == daq.Abort && !r.over() && !r.Aborted:
		r.Aborted, r.Cause = true, cause(e.Subject, e.Text)
	case e.Kind == daq.PhaseBegins:
		r.begin(procedure.Phase(e.Subject), e.At.Seconds())
	}
}

// over says whether the part that an abort can spoil is past.
func (r *windowReader) over() bool {
	return r.phase == procedure.Release || r.phase == procedure.Vented
}

// begin ends the phase that was and begins the next.
func (r *windowReader) begin(next procedure.Phase, at float64) {
	switch r.phase {
	case procedure.Lock:
		if !r.Aborted {
			r.Locked = at
		}
	case procedure.Hold:
		r.HoldEnd = at
		r.Completed = !r.Aborted && next == procedure.Release
	}
	switch next {
	case procedure.Lock:
		r.LockBegan = at
	case procedure.Hold:
		r.HoldStart = at
	}
	r.phase = next
}
