package simbench

import (
	"context"
	"errors"
	"time"
)

var errNoHold = errors.New("a cycle needs a hold longer than zero")

// Cycle says how long the parts of an automatic cycle last: for people who
// have one pair of hands and a program to lead at the same time.
type Cycle struct {
	// Before pumping, Pumping up, with the valve Locked and the feed side
	// still closed, with the feed side vented until the release, and Released
	// before it begins again.
	Before, Pumping, Locked, Held, Released time.Duration
	// Tell is told what has just been done; may be nil.
	Tell func(done string)
}

// DefaultCycle fits a hold of five minutes with a stabilisation of one.
var DefaultCycle = Cycle{
	Before: 20 * time.Second, Pumping: 12 * time.Second, Locked: 10 * time.Second,
	Held: 7 * time.Minute, Released: 60 * time.Second,
}

// RunCycle pumps to the test pressure, locks, vents the feed side, waits,
// releases and begins again, by the rig's clock, until ctx ends; it returns
// the context's error. It joins the clock for as long.
func (r *Rig) RunCycle(ctx context.Context, c Cycle) error {
	if c.Held <= 0 {
		return errNoHold
	}
	leave := r.clock.Join()
	defer leave()
	steps := []struct {
		after time.Duration
		done  string
		do    func()
	}{
		{c.Before, "pumping", func() { r.Pump(r.testPressure(), min(pumpTime, c.Pumping)) }},
		{c.Pumping, "locked", r.Lock},
		{c.Locked, "feed side vented", r.VentFeed},
		{c.Held, "released", r.Release},
		{c.Released, "", func() {}},
	}
	for at := r.clock.Now(); ; {
		for _, s := range steps {
			at += s.after
			if err := r.clock.Sleep(ctx, at); err != nil {
				return err
			}
			s.do()
			if c.Tell != nil && s.done != "" {
				c.Tell(s.done)
			}
		}
	}
}
