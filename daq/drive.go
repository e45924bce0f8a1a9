package daq

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"
)

// Driving is what became of a command to an output.
type Driving struct {
	At     time.Duration
	Output Output
	On     bool
	// Cause says why it was driven.
	Cause string
	// Safe is true where nobody asked for it: the scanner brought the output to
	// its safe state, or found that it may have left the state it was driven to.
	Safe bool
	// Err is why it is not known whether the output was switched; nil where the
	// instrument confirmed it.
	Err error
}

// Event is the driving as it is recorded.
func (d Driving) Event() Event {
	text := word(d.On) + ": " + d.Cause
	if d.Err != nil {
		text += "; not confirmed: " + d.Err.Error()
	}
	return Event{At: d.At, Until: d.At, Kind: Driven, Subject: d.Output.Name, Text: text}
}

func word(on bool) string {
	if on {
		return "on"
	}
	return "off"
}

// Why a command was not carried out.
var (
	// ErrNoOutput: the bench has no output of that name, or may not drive it.
	ErrNoOutput = errors.New("no output of that name is driven on this bench")
	// ErrAway: the line is gone, or scanning is over.
	ErrAway = errors.New("its line is away")
	// ErrUnsafe: a pump is not switched on while it is not known that the
	// instrument takes its commands.
	ErrUnsafe = errors.New("its instrument did not confirm the safe state before")
	// ErrRevoked: it was ordered off before it was switched on.
	ErrRevoked = errors.New("ordered off again before")
)

// orders are the commands that wait for the owner of a line.
type orders struct {
	mu      sync.Mutex
	waiting []order
	over    bool // nobody takes them any more
}

type order struct {
	source, output int
	on             bool
	cause          string
	done           chan<- error // nil: nobody waits
}

func (o *orders) add(c order) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.over {
		return ErrAway
	}
	o.waiting = append(o.waiting, c)
	return nil
}

// take takes out all that waits; last says that nothing more will be taken.
func (o *orders) take(last bool) []order {
	o.mu.Lock()
	defer o.mu.Unlock()
	waiting := o.waiting
	o.waiting = nil
	o.over = o.over || last
	return waiting
}

// end answers all that waits, where nobody will ever take it.
func (o *orders) end() {
	for _, c := range o.take(true) {
		c.answer(ErrAway)
	}
}

// Outputs are what can be driven, in the order of the lines.
func (s *Scanner) Outputs() []Output {
	var out []Output
	for _, l := range s.lines {
		for _, src := range l.Sources {
			if src.Driver != nil {
				out = append(out, src.Outputs...)
			}
		}
	}
	return out
}

// Order has an output switched by the goroutine that owns its line, between two
// exchanges, and returns at once; what becomes of it is told to OnDriven, in
// step with the scans. What is ordered before Run waits for it. The error is
// ErrNoOutput, or ErrAway once scanning is over or was refused; then nothing is
// told.
func (s *Scanner) Order(output string, on bool, cause string) error {
	return s.order(output, order{on: on, cause: cause})
}

// Drive is Order for whoever waits: it returns once the instrument has
// confirmed, or with the reason why it is not known to have switched; ErrAway
// while the line is gone; the context's error when that ends first, and then the
// output may still be switched. In lock-step the calling goroutine must not be
// joined to the clock.
func (s *Scanner) Drive(ctx context.Context, output string, on bool, cause string) error {
	done := make(chan error, 1)
	if err := s.order(output, order{on: on, cause: cause, done: done}); err != nil {
		return err
	}
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (s *Scanner) order(output string, o order) error {
	for l, line := range s.lines {
		for i, src := range line.Sources {
			for k, known := range src.Outputs {
				if src.Driver != nil && known.Name == output {
					o.source, o.output = i, k
					return s.orders[l].add(o)
				}
			}
		}
	}
	return fmt.Errorf("output %q: %w", output, ErrNoOutput)
}

// OnDriven has each called with what became of every command, and with what the
// scanner did to bring outputs to their safe state; in step with the scans,
// after the event that tells of it.
func (s *Scanner) OnDriven(each func(Driving)) (cancel func()) {
	return s.out.subscribe(subscriber{driven: each})
}
