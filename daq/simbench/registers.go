package simbench

import (
	"math"

	"holdbench/daq/bench"
	"holdbench/daq/modbus"
)

// Exceptions that the simulated modules answer with.
//
// Source: M MODBUS Application Protocol Specification V1.1b3, section 7.
const (
	illegalFunction modbus.Exception = 1
	illegalAddress  modbus.Exception = 2
	illegalValue    modbus.Exception = 3
)

// module is one Modbus slave: which channel stands in which registers.
type module struct {
	rig     *Rig
	address byte
	// places by function and register: the channel and which of its words.
	places map[byte]map[int]place
}

type place struct{ channel, word int }

func newModule(r *Rig, in bench.Instrument) *module {
	m := &module{rig: r, address: byte(in.Address), places: map[byte]map[int]place{3: {}, 4: {}}}
	for i, c := range r.bench.Channels {
		if c.Instrument != in.Name {
			continue
		}
		f := byte(c.Function)
		m.places[f][c.Register] = place{i, 0}
		if c.Type == float32Type {
			m.places[f][c.Register+1] = place{i, 1}
		}
	}
	return m
}

const float32Type = "float32"

// registers returns what a request asks for; the error is a modbus.Exception.
// Each channel in the range is read once.
func (m *module) registers(r modbus.Request) ([]uint16, error) {
	known, ok := m.places[r.Function]
	switch {
	case !ok:
		return nil, illegalFunction
	case r.Count < 1 || r.Count > modbus.MaxRegisters:
		return nil, illegalValue
	}
	first, count := int(r.Start), int(r.Count)
	var which []int
	order := map[int]int{}
	for k := range count {
		p, ok := known[first+k]
		if !ok {
			return nil, illegalAddress
		}
		if _, ok := order[p.channel]; !ok {
			order[p.channel] = len(which)
			which = append(which, p.channel)
		}
	}
	sent := m.rig.read(which)
	out := make([]uint16, count)
	for k := range out {
		p := known[first+k]
		out[k] = words(m.rig.bench.Channels[p.channel], sent[order[p.channel]])[p.word]
	}
	return out, nil
}

// words returns the registers of a channel that sends x. A number too large
// for int16 is stuck at its end, as a converter would be.
func words(c bench.Channel, x float64) [2]uint16 {
	if c.Type != float32Type {
		x = math.Round(max(math.MinInt16, min(math.MaxInt16, x)))
		return [2]uint16{uint16(int16(x))}
	}
	bits := math.Float32bits(float32(x))
	high, low := uint16(bits>>16), uint16(bits)
	if c.WordOrder == "low-first" {
		return [2]uint16{low, high}
	}
	return [2]uint16{high, low}
}
