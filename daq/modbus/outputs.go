package modbus

import (
	"context"
	"errors"
	"fmt"

	"holdbench/daq"
)

// ErrNotDriven: the write was dealt with, but read back the output is not as
// it was driven.
var ErrNotDriven = errors.New("read back, the output is not as it was driven")

// Output is something that a slave switches: a coil, a holding register that
// takes two values, or some bits of one.
type Output struct {
	Function byte // one that writes
	Register uint16
	// On and Off are what a register is written with; coils need none.
	On, Off uint16
	// Mask has a 1 in each bit of the register that On and Off are about; the
	// others are left as they are. 0 is all of them.
	Mask uint16
}

// Outputs drives the outputs of one slave.
type Outputs struct {
	master  Master
	address byte
	outputs []Output
}

var _ daq.Driver = (*Outputs)(nil)

// NewOutputs returns the outputs of the slave at an address of the master's
// line, counted by Drive in their order. Nobody else may write to the register
// of an output that is some bits only: it is read, changed and written.
func NewOutputs(m Master, address byte, outputs []Output) *Outputs {
	return &Outputs{master: m, address: address, outputs: outputs}
}

// Drive writes an output and reads it back. Nil means that the slave says it
// is switched: by reading it back, or, where it lets nobody read it, by its
// answer to the write. A write without an answer is not repeated, but read
// back; where that tells nothing the error is ErrUnknown with what went wrong.
// The other errors are ErrNotDriven, an Exception, and those of Master.Do.
func (o *Outputs) Drive(ctx context.Context, output int, on bool) error {
	out := o.outputs[output]
	write, read, want, err := o.requests(ctx, out, on)
	if err == nil {
		err = o.written(ctx, out, write, read, want)
	}
	if err != nil {
		return fmt.Errorf("address %d, %s: %w", o.address, write.Place(), err)
	}
	return nil
}

// requests are what writes the output and reads it back, and what must be
// read.
func (o *Outputs) requests(ctx context.Context, out Output, on bool) (write, read Request, want uint16, err error) {
	read = Request{Address: o.address, Function: reading(out.Function), Start: out.Register, Count: 1}
	if read.Function == ReadCoils {
		if on {
			want = 1
		}
		return Write(o.address, out.Function, out.Register, want), read, want, nil
	}
	if want = out.Off; on {
		want = out.On
	}
	if m := out.mask(); m != 0xFFFF {
		now, err := o.master.Do(ctx, read)
		if err != nil {
			return Write(o.address, out.Function, out.Register, want), read, want, fmt.Errorf("read before it is changed: %w", err)
		}
		want = now.Values[0]&^m | want&m
	}
	return Write(o.address, out.Function, out.Register, want), read, want, nil
}

func (out Output) mask() uint16 {
	if out.Mask == 0 || reading(out.Function) == ReadCoils {
		return 0xFFFF
	}
	return out.Mask
}

// written writes and reads back.
func (o *Outputs) written(ctx context.Context, out Output, write, read Request, want uint16) error {
	_, failed := o.master.Do(ctx, write)
	if failed != nil && !errors.Is(failed, ErrUnknown) {
		return failed
	}
	back, err := o.master.Do(ctx, read)
	switch {
	case err == nil && back.Values[0]&out.mask() == want&out.mask():
		return nil
	case err == nil:
		return errors.Join(ErrNotDriven, failed)
	case failed == nil && (errors.Is(err, IllegalFunction) || errors.Is(err, IllegalAddress)):
		return nil // it answered the write and lets nobody read it
	case failed == nil:
		return fmt.Errorf("%w: reading it back: %w", ErrUnknown, err)
	}
	return failed
}
