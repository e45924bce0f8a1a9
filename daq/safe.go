package daq

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"time"
)

// attention is how often the owner of a line that has outputs looks for
// commands while it waits for its next scan.
const attention = 20 * time.Millisecond

// heedless is how long what was read may wait to be looked at while a pump
// runs: a disk or a screen that stands still must not leave it running.
const heedless = 2 * time.Second

// outputs is what is known of a source's outputs.
type outputs struct {
	// on says of each output that it was last driven on, or may have been.
	on []bool
	// unsafe is why each output must be switched off before anything else is
	// done; empty where it need not. Only pumps ever are: the safe state is
	// pump off, nothing opened.
	unsafe []string
	// told is true once it was told that the safe state could not be had.
	told []bool
}

// mistrust notes that pumps may run although they should not: from now on they
// are switched off as soon as the instrument can be reached. Of what was
// driven on it is told at once, since it may have stopped.
func (r *reader) mistrust(i int, why string, err error) {
	src, o := r.line.Sources[i], &r.each[i].outputs
	if src.Driver == nil {
		return
	}
	for k, output := range src.Outputs {
		if output.Role != Pump || o.unsafe[k] != "" {
			continue
		}
		o.unsafe[k], o.told[k] = why, false
		if o.on[k] && err != nil {
			o.told[k] = true
			r.driven(Driving{Output: output, Cause: why, Safe: true, Err: err})
		}
	}
}

// makeSafe switches off every pump of a source that is not known to be off.
func (r *reader) makeSafe(ctx context.Context, i int) {
	src, o := r.line.Sources[i], &r.each[i].outputs
	if src.Driver == nil {
		return
	}
	for k, output := range src.Outputs {
		if o.unsafe[k] == "" {
			continue
		}
		d := Driving{Output: output, Cause: o.unsafe[k], Safe: true}
		if d.Err = src.Driver.Drive(ctx, k, false); d.Err != nil {
			if !o.told[k] {
				o.told[k] = true
				r.driven(d)
			}
			return // the others are of the same instrument
		}
		o.on[k], o.unsafe[k] = false, ""
		r.driven(d)
	}
}

// makeAllSafe is makeSafe for every source of the line.
func (r *reader) makeAllSafe(ctx context.Context) {
	for i := range r.line.Sources {
		r.makeSafe(ctx, i)
	}
}

// carryOut carries out what was ordered. What was ordered on and, before it
// came to that, off again, is not switched on.
func (r *reader) carryOut(ctx context.Context) {
	r.heed(ctx)
	waiting := r.orders.take(false)
	for n, c := range waiting {
		src, o := r.line.Sources[c.source], &r.each[c.source].outputs
		output := src.Outputs[c.output]
		d := Driving{Output: output, On: c.on, Cause: c.cause}
		if c.on && c.revoked(waiting[n+1:]) {
			d.Err = ErrRevoked
			c.answer(d.Err)
			r.driven(d)
			continue
		}
		if c.on && output.Role == Pump {
			r.makeSafe(ctx, c.source)
		}
		if c.on && o.unsafe[c.output] != "" {
			d.Err = ErrUnsafe
		} else {
			d.Err = src.Driver.Drive(ctx, c.output, c.on)
			o.on[c.output] = c.on || d.Err != nil
		}
		switch {
		case output.Role != Pump:
		case d.Err == nil:
			o.unsafe[c.output] = ""
		case o.unsafe[c.output] == "":
			o.unsafe[c.output], o.told[c.output] = c.cause+"; the command before was not confirmed", true
		}
		c.answer(d.Err)
		r.driven(d)
	}
}

// refuse answers what was ordered while the line is away.
func (r *reader) refuse(last bool) {
	for _, c := range r.orders.take(last) {
		c.answer(ErrAway)
		r.driven(Driving{Output: r.line.Sources[c.source].Outputs[c.output], On: c.on, Cause: c.cause, Err: ErrAway})
	}
}

// revoked says whether a later order has the same output off.
func (o order) revoked(later []order) bool {
	return slices.ContainsFunc(later, func(l order) bool { return l.source == o.source && l.output == o.output && !l.on })
}

// heed switches off the pumps that run while what is read is not looked at.
func (r *reader) heed(ctx context.Context) {
	if r.out.behind(r.clock.Now()) < heedless {
		return
	}
	for i := range r.line.Sources {
		if r.pumping(i) {
			r.mistrust(i, "what is read is not looked at", nil)
			r.makeSafe(ctx, i)
		}
	}
}

// pumping says whether a pump of a source runs, and is not to be switched off
// already.
func (r *reader) pumping(i int) bool {
	o := &r.each[i].outputs
	for k, output := range r.line.Sources[i].Outputs {
		if output.Role == Pump && o.on[k] && o.unsafe[k] == "" {
			return true
		}
	}
	return false
}

func (o order) answer(err error) {
	if o.done != nil {
		o.done <- err
	}
}

// driven tells what became of a command: its event, then itself.
func (r *reader) driven(d Driving) {
	d.At = r.clock.Now()
	e := d.Event()
	r.out.put(parcel{when: d.At, line: r.index, event: &e, driving: &d})
}

// hasOutputs says whether anything on the line can be driven.
func (r *reader) hasOutputs() bool {
	return slices.ContainsFunc(r.line.Sources, func(s Source) bool { return s.Driver != nil })
}

// wait sleeps until a clock time; do looks after commands meanwhile.
func (r *reader) wait(ctx context.Context, until time.Duration, do func()) error {
	if !r.outputs {
		return r.clock.Sleep(ctx, until)
	}
	for {
		next := min(until, r.clock.Now()+attention)
		if err := r.clock.Sleep(ctx, next); err != nil {
			return err
		}
		do()
		if next >= until {
			return nil
		}
	}
}

// PanicError is a panic on one of the scanner's goroutines, after which the
// outputs were brought to their safe state.
type PanicError struct {
	Value any
	Stack []byte
}

func (p *PanicError) Error() string {
	return fmt.Sprintf("panic: %v\n%s", p.Value, p.Stack)
}

// Unwrap is the panic's own error, nil where it was none.
func (p *PanicError) Unwrap() error {
	err, _ := p.Value.(error)
	return err
}

// Guard calls do and returns its panic, nil when it did not panic. A panic with
// a *PanicError, which has been caught once already, comes back as it was.
func Guard(do func()) (p *PanicError) {
	defer func() {
		v := recover()
		if v == nil {
			return
		}
		if err, ok := v.(error); !ok || !errors.As(err, &p) {
			p = &PanicError{Value: v, Stack: debug.Stack()}
		}
	}()
	do()
	return nil
}

// guardedErr is Guard of what returns an error of its own.
func guardedErr(do func() error) (err error) {
	if p := Guard(func() { err = do() }); p != nil {
		return p
	}
	return err
}

// guarded is Guard, with an error that is nil when there was no panic.
func guarded(do func()) error {
	if p := Guard(do); p != nil {
		return p
	}
	return nil
}
