package report

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
)

// A slow change widens the quantiles and leaves the noise alone.
func TestSpreadTellsNoiseFromChange(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{500, 60000} {
		var c series.Column
		for i := range n {
			c.Time = append(c.Time, float64(i))
			c.Value = append(c.Value, 1000*float64(i)/float64(n)+5*random.NormFloat64())
		}
		c.Value[7] = math.NaN()
		s, ok := spreadOf(c)
		require.True(t, ok)
		assert.Equal(t, n-1, s.readings)
		assert.InDelta(t, 500, s.median, 5)
		assert.InDelta(t, 50, s.low, 6)
		assert.InDelta(t, 950, s.high, 6)
		assert.InDelta(t, 5, s.noise, 0.6)
	}
	_, ok := spreadOf(series.Column{Time: []float64{1, 2}, Value: []float64{1, 2}})
	assert.False(t, ok)
}
