package modbus

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// Point is where one channel stands in a slave's registers.
type Point struct {
	Function byte // ReadHolding or ReadInput
	Register uint16
	Type     Type
}

// Instrument is one slave on a line: its points, in the order of its signals.
type Instrument struct {
	client     *Client
	blocks     []block
	stamp      time.Duration
	unanswered error // of the last Sample
}

var _ daq.Instrument = (*Instrument)(nil)

// block is a run of registers that one request reads.
type block struct {
	request Request
	points  []placed
}

// placed is a point in a block: signals[signal] is read from registers[at:].
type placed struct {
	signal, at int
	kind       Type
}

// NewInstrument returns the slave at an address of the client's line. Points
// whose registers touch or overlap are read in one request.
func NewInstrument(c *Client, address byte, points []Point) *Instrument {
	return &Instrument{client: c, blocks: group(address, points)}
}

func group(address byte, points []Point) []block {
	order := make([]int, len(points))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(points[a].Function, points[b].Function), cmp.Compare(points[a].Register, points[b].Register))
	})
	var blocks []block
	for _, i := range order {
		p := points[i]
		start, end := int(p.Register), int(p.Register)+p.Type.Registers()
		if n := len(blocks); n > 0 {
			last := &blocks[n-1]
			first := int(last.request.Start)
			reached := first + int(last.request.Count)
			if last.request.Function == p.Function && start <= reached && end-first <= MaxRegisters {
				last.request.Count = uint16(max(reached, end) - first)
				last.points = append(last.points, placed{i, start - first, p.Type})
				continue
			}
		}
		blocks = append(blocks, block{
			request: Request{Address: address, Function: p.Function, Start: p.Register, Count: uint16(end - start)},
			points:  []placed{{i, 0, p.Type}},
		})
	}
	return blocks
}

// Sample reads all points, one request for each run of registers. A run that
// is refused or not answered leaves its signals Missing, and Sample fails
// only when no run was answered. A line that is silent is asked once. The
// errors are those of Client.Read.
func (in *Instrument) Sample(ctx context.Context, dst []daq.Signal) error {
	var failed error
	learned := false
	var first time.Duration // when the first answer of this Sample began
	for i, b := range in.blocks {
		registers, err := in.client.Read(ctx, b.request)
		var x Exception
		switch {
		case err == nil:
			if !learned {
				first = in.client.answeredAt
			}
			learned = true
			in.stamp = first + (in.client.answeredAt-first)/2
			b.decode(dst, registers)
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

func (b block) wrap(err error) error {
	return fmt.Errorf("address %d, function %d, registers %d to %d: %w", b.request.Address, b.request.Function,
		b.request.Start, int(b.request.Start)+int(b.request.Count)-1, err)
}

func (b block) missing(dst []daq.Signal) {
	for _, p := range b.points {
		dst[p.signal] = daq.Signal{Raw: math.NaN(), Health: daq.Missing}
	}
}

func (b block) decode(dst []daq.Signal, registers []uint16) {
	for _, p := range b.points {
		raw := p.kind.Decode(registers[p.at:])
		health := daq.Healthy
		if math.IsNaN(raw) || math.IsInf(raw, 0) {
			health = daq.Invalid
		}
		dst[p.signal] = daq.Signal{Raw: raw, Health: health}
	}
}
