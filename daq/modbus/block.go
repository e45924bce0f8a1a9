package modbus

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"holdbench/daq"
)

// Point is where one channel stands in a slave.
type Point struct {
	Function byte // one that reads
	Register uint16
	// Format of registers; coils and inputs need none.
	Format Format
}

// span is how many values the point takes.
func (p Point) span() int {
	if p.bit() {
		return 1
	}
	return p.Format.Registers()
}

// bit says whether the point is a coil or a discrete input.
func (p Point) bit() bool { return p.Function == ReadCoils || p.Function == ReadDiscrete }

// block is a run of values that one request reads.
type block struct {
	request Request
	points  []placed
	bridged bool // it has values in it that no point asks for
}

// placed is a point in a block: signals[signal] is read from values[at:].
type placed struct {
	signal, at int
	point      Point
}

// group puts points whose values touch or overlap, or lie at most bridge
// values apart, into one request.
func group(address byte, points []Point, bridge int) []block {
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
		start, end := int(p.Register), int(p.Register)+p.span()
		if n := len(blocks); n > 0 {
			last := &blocks[n-1]
			first := int(last.request.Start)
			reached := first + int(last.request.Count)
			if last.request.Function == p.Function && start <= reached+bridge && end-first <= most[p.Function] {
				last.request.Count = uint16(max(reached, end) - first)
				last.points = append(last.points, placed{i, start - first, p})
				last.bridged = last.bridged || start > reached
				continue
			}
		}
		blocks = append(blocks, block{
			request: Request{Address: address, Function: p.Function, Start: p.Register, Count: uint16(end - start)},
			points:  []placed{{i, 0, p}},
		})
	}
	return blocks
}

// wrap says which slave and which of its registers an error is about.
func (b block) wrap(err error) error {
	if b.bridged && errors.Is(err, IllegalAddress) {
		return fmt.Errorf("address %d, %s, with those between that no channel reads: %w", b.request.Address, b.request.Place(), err)
	}
	return fmt.Errorf("address %d, %s: %w", b.request.Address, b.request.Place(), err)
}

func (b block) missing(dst []daq.Signal) {
	for _, p := range b.points {
		dst[p.signal] = daq.Signal{Raw: math.NaN(), Health: daq.Missing}
	}
}

func (b block) decode(dst []daq.Signal, values []uint16) {
	for _, p := range b.points {
		if p.point.bit() {
			dst[p.signal] = daq.Signal{Raw: float64(values[p.at])}
			continue
		}
		raw := p.point.Format.Decode(values[p.at:])
		health := daq.Healthy
		if math.IsNaN(raw) || math.IsInf(raw, 0) {
			health = daq.Invalid
		}
		dst[p.signal] = daq.Signal{Raw: raw, Health: health}
	}
}
