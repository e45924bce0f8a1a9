package discovery

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"holdbench/daq/modbus"
)

// Place is where a number may stand in a slave's registers, and as what.
type Place struct {
	Function byte // modbus.ReadHolding or modbus.ReadInput
	Register uint16
	Format   modbus.Format
}

// types by their words in bench files, the likely first.
var types = []struct {
	word string
	kind modbus.Type
}{
	{"int16", modbus.Int16}, {"float32", modbus.Float32}, {"int32", modbus.Int32},
	{"uint16", modbus.Uint16}, {"uint32", modbus.Uint32}, {"float64", modbus.Float64},
}

// functions by the words that people use for them.
var functions = map[string]byte{"holding": modbus.ReadHolding, "input": modbus.ReadInput}

// TypeWord is the type as bench files call it.
func (p Place) TypeWord() string {
	for _, t := range types {
		if t.kind == p.Format.Type {
			return t.word
		}
	}
	return ""
}

// String is e.g. "input 10 float32 low-first" or "holding 3 int16 bytes
// low-first"; ParsePlace reads it.
func (p Place) String() string {
	text := "holding "
	if p.Function == modbus.ReadInput {
		text = "input "
	}
	text += strconv.Itoa(int(p.Register)) + " " + p.TypeWord()
	if p.Format.Registers() > 1 {
		text += " " + order(p.Format.LowWordFirst)
	}
	if p.Format.LowByteFirst {
		text += " bytes low-first"
	}
	return text
}

// order is a word order as bench files call it.
func order(lowFirst bool) string {
	if lowFirst {
		return "low-first"
	}
	return "high-first"
}

// ParsePlace reads where a number stands as String writes it: holding or
// input, the register from 0, the type, for more than one register the order
// of words, and "bytes low-first" where the bytes of each register are the
// wrong way round.
func ParsePlace(text string) (Place, error) {
	bad := func() (Place, error) {
		return Place{}, fmt.Errorf(`found %q, want e.g. "input 0 int16", "holding 10 float32 low-first"`, text)
	}
	words := strings.Fields(strings.ToLower(text))
	if len(words) < 3 {
		return bad()
	}
	var p Place
	var known bool
	if p.Function, known = functions[words[0]]; !known {
		return bad()
	}
	register, err := strconv.ParseUint(words[1], 10, 16)
	if err != nil {
		return bad()
	}
	p.Register, known = uint16(register), false
	for _, t := range types {
		if t.word == words[2] {
			p.Format.Type, known = t.kind, true
		}
	}
	rest := words[3:]
	if p.Format.Registers() > 1 {
		switch {
		case len(rest) > 0 && rest[0] == "low-first":
			p.Format.LowWordFirst = true
		case len(rest) == 0 || rest[0] != "high-first":
			return bad()
		}
		rest = rest[1:]
	}
	if len(rest) == 2 && rest[0] == "bytes" && (rest[1] == "low-first" || rest[1] == "high-first") {
		p.Format.LowByteFirst = rest[1] == "low-first"
		rest = nil
	}
	if !known || len(rest) > 0 || int(p.Register)+p.Format.Registers() > 1<<16 {
		return bad()
	}
	return p, nil
}

// Snapshot is what a slave's registers held, by function.
type Snapshot map[byte]map[uint16]uint16

// Value is the number that stands at a place, NaN where a register of it is
// not known.
func (s Snapshot) Value(p Place) float64 {
	registers := make([]uint16, p.Format.Registers())
	for i := range registers {
		v, ok := s[p.Function][p.Register+uint16(i)]
		if !ok {
			return math.NaN()
		}
		registers[i] = v
	}
	return p.Format.Decode(registers)
}

// Places are all the ways to read the registers of a snapshot: every type in
// every order of words, and of bytes too. They come in the order of functions
// and registers, the likely types first.
func (s Snapshot) Places() []Place {
	var out []Place
	for _, function := range []byte{modbus.ReadInput, modbus.ReadHolding} {
		for _, register := range sortedKeys(s[function]) {
			for _, lowByte := range []bool{false, true} {
				for _, t := range types {
					for _, lowWord := range []bool{false, true} {
						p := Place{function, register, modbus.Format{Type: t.kind, LowWordFirst: lowWord, LowByteFirst: lowByte}}
						if lowWord && p.Format.Registers() == 1 || !s.holds(p) {
							continue
						}
						out = append(out, p)
					}
				}
			}
		}
	}
	return out
}

// holds says whether all registers of a place are known.
func (s Snapshot) holds(p Place) bool {
	for i := range p.Format.Registers() {
		if _, ok := s[p.Function][p.Register+uint16(i)]; !ok || int(p.Register)+i > math.MaxUint16 {
			return false
		}
	}
	return true
}
