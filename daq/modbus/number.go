package modbus

import "math"

// Type is how an instrument writes a number into registers.
type Type uint8

// The types. Inside a register the high byte comes first, [2] section 4.2;
// which of two registers comes first is up to the instrument.
const (
	Int16            Type = iota // one register, two's complement
	Float32HighFirst             // IEEE 754, high word in the first register
	Float32LowFirst              // IEEE 754, low word in the first register
)

// Registers is how many registers a number takes.
func (t Type) Registers() int {
	if t == Int16 {
		return 1
	}
	return 2
}

// Decode returns the number in the first registers of r.
// It panics if there are fewer than t.Registers().
func (t Type) Decode(r []uint16) float64 {
	switch t {
	case Int16:
		return float64(int16(r[0]))
	case Float32HighFirst:
		return float(r[0], r[1])
	}
	return float(r[1], r[0])
}

func float(high, low uint16) float64 {
	return float64(math.Float32frombits(uint32(high)<<16 | uint32(low)))
}
