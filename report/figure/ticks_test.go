package figure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func labels(ticks []Tick) (l []string) {
	for _, t := range ticks {
		if t.Label != "" {
			l = append(l, t.Label)
		}
	}
	return l
}

func TestWholeTicksCount(t *testing.T) {
	var labels []string
	for _, tick := range Whole(Ticks(0.5, 3.5, 8)) {
		labels = append(labels, tick.Label)
	}
	assert.Equal(t, []string{"1", "2", "3"}, labels)
	assert.Equal(t, "run number", Axis{Quantity: "run number"}.Title())
}

func TestTicksAreRoundNumbersWithAlignedDecimals(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		most      int
		want      []string
	}{
		{0, 10, 6, []string{"0", "2", "4", "6", "8", "10"}},
		{93.4, 96.4, 7, []string{"93.5", "94.0", "94.5", "95.0", "95.5", "96.0"}},
		{-0.3, 0.3, 4, []string{"−0.2", "0.0", "0.2"}},
		{21.33, 21.95, 3, []string{"21.4", "21.6", "21.8"}},
		{0, 8.5, 3, []string{"0", "5"}},
		{9.9e6, 1.01e7, 5, []string{"9900000", "9950000", "10000000", "10050000", "10100000"}},
	} {
		assert.Equal(t, c.want, labels(Ticks(c.low, c.high, c.most)), "%g to %g", c.low, c.high)
	}
}

func TestTicksStayInsideAndNeverTooMany(t *testing.T) {
	for e := -9.0; e <= 9; e++ {
		for _, offset := range []float64{0, -3.3, 1000.7} {
			for most := 2; most < 12; most++ {
				width := math.Pow(10, e) * 1.7
				low, high := offset*width, offset*width+width
				ticks := Ticks(low, high, most)
				require.LessOrEqual(t, len(labels(ticks)), most)
				for _, k := range ticks {
					require.True(t, k.Value >= low-1e-6*width && k.Value <= high+1e-6*width)
				}
			}
		}
	}
}

func TestNoTicksWithoutARange(t *testing.T) {
	assert.Nil(t, Ticks(1, 1, 5))
	assert.Nil(t, Ticks(2, 1, 5))
	assert.Nil(t, Ticks(math.NaN(), 1, 5))
	assert.Nil(t, Ticks(0, math.Inf(1), 5))
}

func TestTimeUnitFollowsTheLength(t *testing.T) {
	for seconds, want := range map[float64]string{40: "s", 119: "s", 300: "min", 3600: "min", 12 * 3600: "h"} {
		unit, _ := TimeUnit(seconds)
		assert.Equal(t, want, unit, "%g s", seconds)
	}
}
