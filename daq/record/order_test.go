package record

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestLongestRiseLeavesOutAsFewAsPossible(t *testing.T) {
	require.Equal(t, []int{0, 2, 3}, longestRise([]float64{1, 900, 2, 3}))
	require.Equal(t, []int{0, 1, 3}, longestRise([]float64{1, 2, 0, 3}))
	require.Equal(t, []int{0}, longestRise([]float64{5}))
	require.Empty(t, longestRise(nil))

	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(0, 10), 0, 10).Draw(t, "x")
		rise := longestRise(x)
		for k := 1; k < len(rise); k++ {
			require.Less(t, rise[k-1], rise[k])
			require.Less(t, x[rise[k-1]], x[rise[k]])
		}
		require.Equal(t, longestByTrying(x), len(rise))
	})
}

// longestByTrying looks at every subset.
func longestByTrying(x []float64) int {
	best := 0
	for set := range 1 << len(x) {
		n, last, rising := 0, -1.0, true
		for i, v := range x {
			if set>>i&1 == 1 {
				rising = rising && v > last
				n, last = n+1, v
			}
		}
		if rising {
			best = max(best, n)
		}
	}
	return best
}
