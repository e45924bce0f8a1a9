package simbench

import (
	"holdbench/daq/bench"
	"holdbench/daq/modbus"
)

// module is one Modbus slave: which channels stand in which registers, coils
// and inputs, and what a program may write.
type module struct {
	rig     *Rig
	name    string
	address byte
	// places by the function that reads, and by register.
	places map[byte]map[int][]place
	// cells are what may be written, likewise; they keep what was.
	cells map[cell]bool
	// bridge: registers in between, as many as the bench file bridges, are
	// there too and are 0.
	bridge int
}

// place is a channel in a register: which of its registers it is.
type place struct{ channel, word int }

// cell is a coil or holding register that keeps what is written into it.
type cell struct {
	instrument string
	function   byte // that reads it
	register   int
}

func newModule(r *Rig, in bench.Instrument) *module {
	m := &module{rig: r, name: in.Name, address: byte(in.Address), bridge: in.Bridge, cells: map[cell]bool{},
		places: map[byte]map[int][]place{
			modbus.ReadCoils: {}, modbus.ReadDiscrete: {}, modbus.ReadHolding: {}, modbus.ReadInput: {}}}
	for i, c := range r.bench.Channels {
		if c.Instrument != in.Name {
			continue
		}
		at := m.places[byte(c.Function)]
		for word := range span(c) {
			at[c.Register+word] = append(at[c.Register+word], place{i, word})
		}
	}
	for _, o := range r.bench.Outputs {
		if o.Instrument == in.Name {
			m.cells[cellOf(o)] = true
		}
	}
	return m
}

func cellOf(o bench.Output) cell {
	return cell{o.Instrument, modbus.Request{Function: byte(o.Function)}.Reads(), o.Register}
}

// bit says whether a channel is a coil or a discrete input.
func bit(c bench.Channel) bool {
	return byte(c.Function) == modbus.ReadCoils || byte(c.Function) == modbus.ReadDiscrete
}

// span is how many registers a channel takes.
func span(c bench.Channel) int {
	if bit(c) {
		return 1
	}
	return c.Format().Registers()
}

// answer does what a request asks for and returns what it reads; the error is
// a modbus.Exception. Each channel in the range is read once.
func (m *module) answer(r modbus.Request) ([]uint16, error) {
	if _, known := m.places[r.Reads()]; !known {
		return nil, modbus.IllegalFunction
	}
	if r.Check() != nil {
		return nil, refusal(r)
	}
	if r.Writes() {
		return nil, m.write(r)
	}
	known := m.places[r.Function]
	first, count := int(r.Start), int(r.Count)
	var which []int
	order := map[int]int{}
	for k := range count {
		here := known[first+k]
		if !m.there(r, k) && !(m.near(r, k, -1) && m.near(r, k, 1)) {
			return nil, modbus.IllegalAddress
		}
		for _, p := range here {
			if _, ok := order[p.channel]; !ok {
				order[p.channel] = len(which)
				which = append(which, p.channel)
			}
		}
	}
	sent := m.rig.read(which)
	out := make([]uint16, count)
	for k := range out {
		if m.cells[m.cell(r, k)] {
			out[k] = m.rig.cell(m.cell(r, k))
			continue
		}
		for _, p := range known[first+k] {
			out[k] |= words(m.rig.bench.Channels[p.channel], sent[order[p.channel]])[p.word]
		}
	}
	return out, nil
}

// there says whether something stands at the kth place of a request.
func (m *module) there(r modbus.Request, k int) bool {
	return len(m.places[r.Function][int(r.Start)+k]) > 0 || m.cells[m.cell(r, k)]
}

// near says whether something does within the bridge's reach in a direction.
func (m *module) near(r modbus.Request, k, direction int) bool {
	for far := 1; far <= m.bridge; far++ {
		if m.there(r, k+direction*far) {
			return true
		}
	}
	return false
}

// refusal is the exception for a request outside the limits.
//
// Source: M MODBUS Application Protocol Specification V1.1b3, the state
// diagrams of section 6: quantities are exception 3, addresses 2.
func refusal(r modbus.Request) modbus.Exception {
	if r.Start = 0; r.Check() == nil {
		return modbus.IllegalAddress
	}
	return modbus.IllegalValue
}

func (m *module) cell(r modbus.Request, k int) cell {
	return cell{m.name, r.Reads(), int(r.Start) + k}
}

// write keeps what is written, all of it or nothing.
func (m *module) write(r modbus.Request) error {
	for k := range r.Values {
		if !m.cells[m.cell(r, k)] {
			return modbus.IllegalAddress
		}
	}
	for k, v := range r.Values {
		m.rig.keep(m.cell(r, k), v)
	}
	return nil
}

// words returns the registers of a channel that sends x, or the coil.
func words(c bench.Channel, x float64) []uint16 {
	if bit(c) {
		return bench.Channel{Type: "bit"}.Format().Encode(x)
	}
	return c.Format().Encode(x)
}
