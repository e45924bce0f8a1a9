package record

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestNumbersReadBackBitForBit(t *testing.T) {
	check := func(t require.TestingT, x float64) {
		text := appendNumber(nil, x)
		back, ok := parseNumber(text)
		require.True(t, ok, "%s", text)
		require.Equal(t, math.Float64bits(x), math.Float64bits(back), "%s", text)
		if !math.IsInf(x, 0) {
			require.LessOrEqual(t, len(text), 25)
		}
	}
	for _, x := range []float64{
		0, math.Copysign(0, -1), 0.1, 1e7, 101325, 293.15, math.MaxFloat64, math.SmallestNonzeroFloat64,
		5e-324, 1e-6, 9.999999999e-7, 1e21, 1e20, -1.0 / 3, math.Inf(1), math.Inf(-1),
	} {
		check(t, x)
	}
	rapid.Check(t, func(t *rapid.T) {
		x := math.Float64frombits(rapid.Uint64().Draw(t, "bits"))
		if !math.IsNaN(x) {
			check(t, x)
		}
	})
}

func TestNumbersReadAsAPersonWouldWriteThem(t *testing.T) {
	require.Equal(t, "10012345.678", string(appendNumber(nil, 10012345.678)))
	require.Equal(t, "10000000", string(appendNumber(nil, 1e7)))
	require.Equal(t, "0.00001", string(appendNumber(nil, 1e-5)))
	require.Empty(t, appendNumber(nil, math.NaN()))
}

func TestNumbersRefuseDamage(t *testing.T) {
	for _, text := range []string{"NaN", "nan", "inf", "+INF", "0x1p4", "1_0", "1.2.3", "1e999", " 1", "-", "e5", "1\x00"} {
		_, ok := parseNumber([]byte(text))
		require.False(t, ok, text)
	}
}

func FuzzNumber(f *testing.F) {
	for _, s := range []string{"1", "-0", "1e22", "INF", "", "1.7976931348623157e+308", "4.9e-324"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, cell []byte) {
		x, ok := parseNumber(cell)
		if !ok {
			return
		}
		again, ok := parseNumber(appendNumber(nil, x))
		require.True(t, ok)
		if len(cell) > 0 {
			require.Equal(t, math.Float64bits(x), math.Float64bits(again))
			want, err := strconv.ParseFloat(string(cell), 64)
			require.NoError(t, err)
			require.Equal(t, want, x)
		}
	})
}
