package simbench

import (
	"time"

	"holdbench/daq"
	"holdbench/daq/bench"
)

// watchdog is a module's own, set as it should be: it switches the module's
// pumps off when nobody has talked to it for so long, and opens nothing.
type watchdog struct {
	instrument string
	after      time.Duration
	heard      time.Duration
	bitten     bool
}

func newWatchdogs(b *bench.Bench) (out []*watchdog) {
	for _, in := range b.Instruments {
		if in.Watchdog > 0 {
			out = append(out, &watchdog{instrument: in.Name, after: in.Watchdog, bitten: true}) // all is off
		}
	}
	return out
}

// hear says that somebody talks to an instrument.
func (r *Rig) hear(instrument string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	now := r.clock.Now()
	r.settleTo(now)
	for _, w := range r.watchdogs {
		if w.instrument == instrument {
			w.heard, w.bitten = now, false
		}
	}
}

// bite has the watchdogs whose time has come at an instant of the physics switch
// pumps off. It needs r.mu.
func (r *Rig) bite(at time.Duration) {
	for _, w := range r.watchdogs {
		if w.bitten || at-w.heard <= w.after {
			continue
		}
		w.bitten = true
		for _, o := range r.bench.Outputs {
			if o.Instrument == w.instrument && o.Role == daq.Pump && o.Switched(r.cells[cellOf(o)]) {
				r.cells[cellOf(o)] = o.Off()
				r.obeyAt(o, false, at.Seconds())
			}
		}
	}
}
