package simbench

import (
	"slices"

	"holdbench/daq"
	"holdbench/daq/bench"
)

// contact is a switch's contact: it chatters for a while after it has moved.
type contact struct {
	on     bool
	turned float64 // s, when it last moved
}

// How a contact chatters, s: for so long, going over and back in such steps.
const (
	chattering  = 8e-3
	chatterStep = 1e-3
)

func (c *contact) set(on bool, t float64) {
	if on != c.on {
		c.on, c.turned = on, t
	}
}

// reads is what whoever looks at t finds.
func (c contact) reads(t float64) bool {
	since := t - c.turned
	if since >= 0 && since < chattering && int(since/chatterStep)%2 == 1 {
		return !c.on
	}
	return c.on
}

// What a warning switch trips at and resets at, as a part of the test pressure,
// where the circuit does not say.
const (
	usualTrip  = 0.60
	usualReset = 0.70
)

// switches moves the circuit's contacts: the warning switch is on while the
// trapped pressure is too low, with its hysteresis, the pump's while it pumps.
func (f *flow) switches(t float64) {
	trip, reset := orElse(f.c.Trip, usualTrip*f.c.TestPressure), orElse(f.c.Reset, usualReset*f.c.TestPressure)
	f.warning.set(f.trapped < trip || f.warning.on && f.trapped < reset, t)
	f.running.set(f.supply.state == pumped && t < f.supply.begin+f.supply.duration, t)
}

// state returns what a digital input sees, 0 or 1 as it is sent: the warning
// switch of a circuit, or whether the pump of a position runs; one without a
// role is off.
func (r *Rig) state(c bench.Channel) func(s *snapshot) float64 {
	on := func(*snapshot) bool { return false }
	n := 0
	for _, p := range r.bench.Positions {
		first := n
		for _, circuit := range p.Circuits {
			i := n
			n++
			if circuit.WarningSwitch == c.Name {
				on = func(s *snapshot) bool { return s.flows[i].warning.reads(s.at.Seconds()) }
			}
		}
		if last := n; p.PumpState == c.Name {
			on = func(s *snapshot) bool {
				return slices.ContainsFunc(s.flows[first:last], func(f flow) bool { return f.running.reads(s.at.Seconds()) })
			}
		}
	}
	return func(s *snapshot) float64 {
		if on(s) != c.Inverted {
			return 1
		}
		return 0
	}
}

// obey does what a program has switched, now.
func (r *Rig) obey(o bench.Output, on bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.obeyAt(o, on, r.settleTo(r.clock.Now()))
}

// obeyAt has the circuits that an output serves do what it is told: a pump runs
// until it is switched off, far beyond the test pressure if nobody does; the
// lock keeps the trapped side, unlocked it is open to the feed side; the vent
// opens the feed side to the tank. It needs r.mu.
func (r *Rig) obeyAt(o bench.Output, on bool, now float64) {
	n := 0
	for _, p := range r.bench.Positions {
		for range p.Circuits {
			if o.Position == "" || o.Position == p.Name {
				r.flows[n].obey(o.Role, on, now)
			}
			n++
		}
	}
	r.seen.fresh = false
}

func (f *flow) obey(role daq.Role, on bool, now float64) {
	const far = 3
	switch {
	case role == daq.Pump && on && f.supply.state != vented:
		f.supply = supply{state: pumped, from: f.feed, to: f.feed + far*f.c.TestPressure, begin: now, duration: far * pumpTime.Seconds()}
	case role == daq.Pump && !on && f.supply.state == pumped:
		f.supply = supply{}
	case role == daq.Lock:
		f.locked = on
	case role == daq.Vent && on:
		f.supply = supply{state: vented}
	case role == daq.Vent && f.supply.state == vented:
		f.supply = supply{}
	}
}
