package simbench

import "holdbench/daq/bench"

// Switched says of every output of the bench, in its order, whether it is on.
func (r *Rig) Switched() []bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.settleTo(r.clock.Now())
	out := make([]bool, len(r.bench.Outputs))
	for i, o := range r.bench.Outputs {
		out[i] = o.Switched(r.cells[cellOf(o)])
	}
	return out
}

// cell is what stands in a cell. A module starts with everything off.
func (r *Rig) cell(c cell) uint16 {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.cells[c]
}

// keep writes into a cell; what is wired to an output that changes by it obeys.
func (r *Rig) keep(c cell, value uint16) {
	r.mu.Lock()
	before := r.cells[c]
	r.cells[c] = value
	r.mu.Unlock()
	for _, o := range r.bench.Outputs {
		on := o.Switched(value)
		if cellOf(o) != c || on == o.Switched(before) {
			continue
		}
		r.obey(o, on)
	}
}

// newCells are all outputs off.
func newCells(b *bench.Bench) map[cell]uint16 {
	cells := map[cell]uint16{}
	for _, o := range b.Outputs {
		cells[cellOf(o)] |= o.Off()
	}
	return cells
}
