package figure

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// noisy is a falling line of n points with noise and one spike on each side.
func noisy(n int) (x, y []float64) {
	random := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		x = append(x, float64(i)/10)
		y = append(y, 100-float64(i)/float64(n)+0.01*random.NormFloat64())
	}
	y[n/3], y[n/2] = 112, 88
	return x, y
}

func TestDecimateKeepsTheExtremesOfEachColumn(t *testing.T) {
	const columns = 200
	x, y := noisy(100_000)
	low, high := x[0], x[len(x)-1]
	dx, dy := Decimate(x, y, low, high, columns)
	require.Equal(t, len(dx), len(dy))
	assert.LessOrEqual(t, len(dx), 2*(columns+1))
	column := func(v float64) int { return int(math.Floor((v - low) / (high - low) * columns)) }
	extremes := func(x, y []float64) map[int][2]float64 {
		m := map[int][2]float64{}
		for i, v := range y {
			c := column(x[i])
			e, seen := m[c]
			if !seen {
				e = [2]float64{v, v}
			}
			m[c] = [2]float64{math.Min(e[0], v), math.Max(e[1], v)}
		}
		return m
	}
	assert.Equal(t, extremes(x, y), extremes(dx, dy))
	assert.Contains(t, dy, 112.0)
	assert.Contains(t, dy, 88.0)
	for i := range len(dx) - 1 {
		require.Less(t, dx[i], dx[i+1], "in order")
	}
}

func TestDecimateKeepsGapsAndRunsToTheEdges(t *testing.T) {
	x, y := noisy(10_000)
	for i := 4000; i < 4100; i++ {
		y[i] = math.NaN()
	}
	dx, dy := Decimate(x, y, 100, 900, 100)
	gaps := 0
	for i, v := range dy {
		if math.IsNaN(v) {
			gaps++
			assert.InDelta(t, 400, dx[i], 10)
		}
	}
	assert.Equal(t, 1, gaps)
	assert.Less(t, dx[0], 100.0, "one point before the window")
	assert.Greater(t, dx[len(dx)-1], 900.0, "one point behind it")
}

func TestDecimateLeavesShortAndEmptyLines(t *testing.T) {
	x, y := []float64{0, 1, 2}, []float64{5, math.NaN(), 7}
	dx, dy := Decimate(x, y, 0, 2, 100)
	assert.Equal(t, x, dx)
	assert.Len(t, dy, 3)
	dx, _ = Decimate(nil, nil, 0, 1, 10)
	assert.Empty(t, dx)
	dx, _ = Decimate(x, y, 10, 20, 10)
	assert.LessOrEqual(t, len(dx), 1, "nothing inside the window")
}

func BenchmarkDecimate(b *testing.B) {
	x, y := noisy(100_000)
	for b.Loop() {
		Decimate(x, y, 0, 10_000, 1300)
	}
}
