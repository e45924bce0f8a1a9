package modbus

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// everyOrder is each type in each order of words and bytes.
func everyOrder() []Format {
	var out []Format
	for _, kind := range []Type{Int16, Uint16, Int32, Uint32, Float32, Float64, Bit} {
		for order := range 4 {
			out = append(out, Format{Type: kind, LowWordFirst: order&1 == 1, LowByteFirst: order&2 == 2})
		}
	}
	return out
}

func (f Format) String() string {
	return fmt.Sprintf("type %d, low word first %t, low byte first %t, bits %d+%d", f.Type, f.LowWordFirst, f.LowByteFirst, f.First, f.Count)
}

// L: what is written is read back, whatever the registers; every pattern of
// bits but those of numbers that are none stays as it is.
func TestDecodeUndoesEncode(t *testing.T) {
	for _, f := range everyOrder() {
		t.Run(f.String(), func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				f := f
				switch {
				case f.Type == Bit:
					f.First = rapid.IntRange(0, 15).Draw(t, "bit")
				case !f.Type.Float():
					width := 16 * f.Registers()
					f.First = rapid.IntRange(0, width-1).Draw(t, "first")
					f.Count = rapid.IntRange(0, width-f.First).Draw(t, "count")
					if f.Count == 0 {
						f.First = 0
					}
				}
				r := rapid.SliceOfN(rapid.Uint16(), f.Registers(), f.Registers()).Draw(t, "registers")
				x := f.Decode(r)
				back := f.Encode(x)
				if math.IsNaN(x) {
					if !math.IsNaN(f.Decode(back)) {
						t.Fatalf("%v of %04X: NaN became %g", f, r, f.Decode(back))
					}
					return
				}
				mask := f.Mask()
				for i := range r {
					if back[i] != r[i]&mask[i] {
						t.Fatalf("%v: %g of %04X became %04X in the bits %04X", f, x, r, back, mask)
					}
				}
			})
		})
	}
}

// L: an order is a permutation: the same bytes in another order are the same
// number.
func TestOrdersArePermutations(t *testing.T) {
	for _, kind := range []Type{Int32, Uint32, Float32, Float64} {
		plain := Format{Type: kind}
		x := -1234.5
		r := plain.Encode(x)
		reversed := make([]uint16, len(r))
		for i, v := range r {
			reversed[len(r)-1-i] = v<<8 | v>>8
		}
		assert.Equal(t, reversed, Format{Type: kind, LowWordFirst: true, LowByteFirst: true}.Encode(x))
	}
}

func TestEveryIntegerIsExact(t *testing.T) {
	for f, c := range map[Format]struct {
		registers []uint16
		want      float64
	}{
		{Type: Int16}:  {[]uint16{0x8000}, math.MinInt16},
		{Type: Uint16}: {[]uint16{0xFFFF}, math.MaxUint16},
		{Type: Int32}:  {[]uint16{0x8000, 0x0001}, math.MinInt32 + 1},
		{Type: Uint32}: {[]uint16{0xFFFF, 0xFFFE}, math.MaxUint32 - 1},
		// V: IEEE 754-2019, 3.6: sign, 11 bits of exponent, 52 of fraction.
		{Type: Float64}: {[]uint16{0x3FF0, 0, 0, 1}, 1 + 0x1p-52},
		// Bits 4 to 7 of 12A4 are A; as a signed field its highest bit is the
		// sign: 10 − 16.
		{Type: Uint16, First: 4, Count: 4}:                      {[]uint16{0x12A4}, 10},
		{Type: Int16, First: 4, Count: 4}:                       {[]uint16{0x12A4}, -6},
		{Type: Bit, First: 2}:                                   {[]uint16{0x12A4}, 1},
		{Type: Bit, First: 3}:                                   {[]uint16{0x12A4}, 0},
		{Type: Bit, First: 10, LowByteFirst: true}:              {[]uint16{0x12A4}, 1},
		{Type: Uint32, First: 12, Count: 8, LowWordFirst: true}: {[]uint16{0xB000, 0x000A}, 0xAB},
	} {
		assert.Equal(t, c.want, f.Decode(c.registers), f.String())
	}
}

func TestWhatAnIntegerCannotHoldIsStuckAtItsEnd(t *testing.T) {
	assert.Equal(t, []uint16{0x7FFF}, Format{Type: Int16}.Encode(40000))
	assert.Equal(t, []uint16{0x8000}, Format{Type: Int16}.Encode(-1e300))
	assert.Equal(t, []uint16{0}, Format{Type: Uint16}.Encode(-3))
	assert.Equal(t, []uint16{0xFFFF, 0xFFFF}, Format{Type: Uint32}.Encode(1e300))
	assert.Equal(t, []uint16{0}, Format{Type: Int16}.Encode(math.NaN()))
	assert.Equal(t, []uint16{0xFFFE}, Format{Type: Int16}.Encode(-2.4))
}
