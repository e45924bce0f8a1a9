package foreign

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func bitsOf(values []float64) []uint64 {
	out := make([]uint64, len(values))
	for i, x := range values {
		out[i] = math.Float64bits(x)
	}
	return out
}

// Law: a decimal is read as the float64 nearest to it, as strconv reads it.
func TestNumbersAreCorrectlyRounded(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 200_000 {
		x := math.Float64frombits(random.Uint64())
		if random.IntN(2) == 0 {
			x = (random.Float64() - 0.5) * math.Pow(10, float64(random.IntN(20)-8))
		}
		if math.IsNaN(x) || math.Abs(x) >= overflow {
			continue
		}
		format := []byte{'f', 'e', 'g', 'E'}[random.IntN(4)]
		text := strconv.FormatFloat(x, format, random.IntN(20)-1, 64)
		want, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err)
		for mark, text := range map[byte]string{'.': text, ',': strings.Replace(text, ".", ",", 1)} {
			got, ok := parseNumber([]byte(text), mark)
			require.True(t, ok, text)
			require.Equal(t, math.Float64bits(want), math.Float64bits(got), text)
		}
	}
}

func TestWhatIsNoNumber(t *testing.T) {
	for _, text := range []string{"", "-", "+", ".", "e5", "1e", "1e+", "0x10", "1_000", "1.2.3", "1,2", "1 2", "12a", "--1", "infinity"} {
		_, ok := parseNumber([]byte(text), '.')
		assert.False(t, ok, text)
	}
	for text, want := range map[string]float64{"+1.5": 1.5, "\u22122": -2, ".5": 0.5, "5.": 5, "1E3": 1000, "-0": 0, "1e-400": 0,
		"123456789012345678901234567890": 123456789012345678901234567890} {
		x, ok := parseNumber([]byte(text), '.')
		assert.True(t, ok, text)
		assert.Equal(t, want, x+0, text)
	}
	for _, text := range []string{"9.9E37", "-9.9e37", "9.91E+37", "1e400"} {
		x, ok := parseNumber([]byte(text), '.')
		assert.True(t, ok && math.IsNaN(x), text)
	}
}

// Law: plain times are exact to the nanosecond in any unit.
func TestPlainTimesAreExact(t *testing.T) {
	for _, row := range []struct {
		text string
		unit int64
		want int64
	}{
		{"0.1", second, 1e8},
		{"86399.999999999", second, 86399999999999},
		{"-12.5", second, -125e8},
		{"1700000000.123456", second, 1700000000123456000},
		{"0.33333333333333333", second, 333333333},
		{"0.0000000005", second, 1},
		{"1500", second / 1000, 15e8},
		{"0.5", minute, 30 * second},
		{"0.001666666666667", minute, 100000000},
		{"2.25", hour, 8100 * second},
		{"1e3", second, 1000 * second},
		{"1.5E-1", second, 15e7},
	} {
		c := clock{unit: row.unit, mark: '.'}
		ns, ok := c.number([]byte(row.text))
		assert.True(t, ok, row.text)
		assert.Equal(t, row.want, ns, row.text)
	}
	for _, text := range []string{"1e30", "99999999999999999999", "9223372036.9e9", "1:00", ""} {
		c := clock{unit: second, mark: '.'}
		_, ok := c.number([]byte(text))
		assert.False(t, ok, text)
	}
}
