package modbus

import (
	"context"
	"errors"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// Instrument is one slave on a line: its points, in the order of its signals.
type Instrument struct {
	master     Master
	blocks     []block
	stamp      time.Duration
	unanswered error // of the last Sample
}

var _ daq.Instrument = (*Instrument)(nil)

// NewInstrument returns the slave at an address of the master's line. Points
// whose values touch or overlap are read in one request.
func NewInstrument(m Master, address byte, points []Point) *Instrument {
	return NewBridging(m, address, points, 0)
}

// NewBridging is NewInstrument where points that lie at most bridge values
// apart are read in one request too, and what is between is thrown away. Many
// modules refuse a request with a register in it that they do not have.
func NewBridging(m Master, address byte, points []Point, bridge int) *Instrument {
	return &Instrument{master: m, blocks: group(address, points, bridge)}
}

// Sample reads all points, one request for each run of values. A run that is
// refused or not answered leaves its signals Missing, and Sample fails only
// when no run was answered. A line that is silent is asked once. The errors
// are those of Master.Do.
func (in *Instrument) Sample(ctx context.Context, dst []daq.Signal) error {
	var failed error
	learned := false
	var first time.Duration // when the first answer of this Sample began
	for i, b := range in.blocks {
		answer, err := in.master.Do(ctx, b.request)
		var x Exception
		switch {
		case err == nil:
			if !learned {
				first = answer.Began
			}
			learned = true
			in.stamp = first + (answer.Began-first)/2
			b.decode(dst, answer.Values)
			continue
		case !errors.As(err, &x) && !errors.Is(err, link.ErrTimeout):
			return b.wrap(err)
		}
		failed = errors.Join(failed, b.wrap(err))
		b.missing(dst)
		if errors.Is(err, link.ErrTimeout) {
			for _, rest := range in.blocks[i+1:] {
				rest.missing(dst)
			}
			break
		}
	}
	in.unanswered = failed
	if learned {
		return nil
	}
	return failed
}

// Unanswered returns why the last Sample left signals Missing, nil when it
// left none.
func (in *Instrument) Unanswered() error { return in.unanswered }

// Stamp returns when, on the clock, the last Sample's answer began on the wire;
// of several answers half-way between the first and the last.
func (in *Instrument) Stamp() time.Duration { return in.stamp }
