package modbus

import (
	"math"
	"slices"
)

// Type is what the bits of a number in registers mean.
type Type uint8

// The types.
const (
	Int16   Type = iota // one register, two's complement
	Uint16              // one register
	Int32               // two registers, two's complement
	Uint32              // two registers
	Float32             // two registers, IEEE 754
	Float64             // four registers, IEEE 754
	Bit                 // one bit of one register: Format.First; or a coil
)

// Registers is how many registers a number takes.
func (t Type) Registers() int {
	switch t {
	case Int32, Uint32, Float32:
		return 2
	case Float64:
		return 4
	}
	return 1
}

// Signed says whether a number has two's complement.
func (t Type) Signed() bool { return t == Int16 || t == Int32 }

// Float says whether a number is IEEE 754.
func (t Type) Float() bool { return t == Float32 || t == Float64 }

// Format is how an instrument writes a number into registers. The
// specification knows only single registers, the high byte first, [2] section
// 4.2; all else is up to the instrument.
type Format struct {
	Type Type
	// LowWordFirst: of several registers the one with the least bits comes
	// first.
	LowWordFirst bool
	// LowByteFirst: the two bytes of each register are the wrong way round.
	LowByteFirst bool
	// First and Count name the bits of an integer that are the number, from 0,
	// the least. Count 0 is all of them. The highest bit of a field of a
	// signed type is its sign. A Bit is bit First.
	First, Count int
}

// Registers is how many registers a number takes.
func (f Format) Registers() int { return f.Type.Registers() }

// Decode returns the number in the first registers of r; every number of
// every type is exact in the result.
// It panics if there are fewer than f.Registers().
func (f Format) Decode(r []uint16) float64 {
	n := f.Registers()
	var x uint64
	for i := range n {
		at := i
		if f.LowWordFirst {
			at = n - 1 - i
		}
		x = x<<16 | uint64(f.bytes(r[at]))
	}
	switch f.Type {
	case Float32:
		return float64(math.Float32frombits(uint32(x)))
	case Float64:
		return math.Float64frombits(x)
	}
	first, count := f.field()
	x = x >> first & (1<<count - 1)
	if f.Type.Signed() && x>>(count-1) == 1 {
		return float64(int64(x) - 1<<count)
	}
	return float64(x)
}

// Encode returns the registers in which a number stands, for whoever plays
// the slave. What an integer cannot hold is rounded, or stuck at its end, as a
// converter would be; bits outside the field are 0.
func (f Format) Encode(x float64) []uint16 {
	n := f.Registers()
	out := make([]uint16, n)
	word := f.word(x)
	for i := range n {
		out[i] = f.bytes(uint16(word >> (16 * (n - 1 - i))))
	}
	if f.LowWordFirst {
		slices.Reverse(out)
	}
	return out
}

// Mask is the registers of a number with a 1 in each bit that it takes.
func (f Format) Mask() []uint16 {
	if f.Type.Float() {
		return slices.Repeat([]uint16{0xFFFF}, f.Registers())
	}
	unsigned := f
	if f.Type.Registers() == 2 {
		unsigned.Type = Uint32
	} else {
		unsigned.Type = Uint16
	}
	unsigned.First, unsigned.Count = f.field()
	return unsigned.Encode(math.MaxUint32)
}

// word is the number as bits, the least at the right.
func (f Format) word(x float64) uint64 {
	switch f.Type {
	case Float32:
		return uint64(math.Float32bits(float32(x)))
	case Float64:
		return math.Float64bits(x)
	}
	first, count := f.field()
	low, high := 0.0, float64(uint64(1)<<count-1)
	if f.Type.Signed() {
		low, high = -float64(uint64(1)<<(count-1)), float64(uint64(1)<<(count-1)-1)
	}
	if math.IsNaN(x) {
		x = 0
	}
	whole := int64(math.Round(max(low, min(high, x))))
	return uint64(whole) & (1<<count - 1) << first
}

// field is the bits that an integer takes.
func (f Format) field() (first, count int) {
	switch {
	case f.Type == Bit:
		return f.First, 1
	case f.Count == 0:
		return 0, 16 * f.Registers()
	}
	return f.First, f.Count
}

func (f Format) bytes(register uint16) uint16 {
	if f.LowByteFirst {
		return register<<8 | register>>8
	}
	return register
}
