package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Heat of setting cement by its four constituents: x1, x2, x3, x4 (per cent)
// and y.
//
// Source: Woods, Steinour and Starke, Ind. Eng. Chem. 24 (1932) 1207, as in
// Burnham and Anderson, Model Selection and Multimodel Inference, 2nd ed.
// 2002, section 3.2 (mark M).
var cement = [][5]float64{
	{7, 26, 6, 60, 78.5}, {1, 29, 15, 52, 74.3}, {11, 56, 8, 20, 104.3}, {11, 31, 8, 47, 87.6},
	{7, 52, 6, 33, 95.9}, {11, 55, 9, 22, 109.2}, {3, 71, 17, 6, 102.7}, {1, 31, 22, 44, 72.5},
	{2, 54, 18, 22, 93.1}, {21, 47, 4, 26, 115.9}, {1, 40, 23, 34, 83.8}, {11, 66, 9, 12, 113.3},
	{10, 68, 8, 12, 109.4},
}

func fitCement(t *testing.T, columns ...int) Linear {
	t.Helper()
	x, y := mat.NewDense(len(cement), len(columns)+1, nil), make([]float64, len(cement))
	for i, row := range cement {
		x.Set(i, 0, 1)
		for j, c := range columns {
			x.Set(i, j+1, row[c-1])
		}
		y[i] = row[4]
	}
	l, err := LeastSquares(x, y)
	require.NoError(t, err)
	return l
}

func TestAICcRanksCementModels(t *testing.T) {
	best := AICc(sumOfSquares(fitCement(t, 1, 2).Residuals), 13, 4)
	for _, row := range []struct {
		columns []int
		behind  float64 // of the best; M, Burnham and Anderson 2002, table 3.2
	}{
		{[]int{1, 2, 4}, 3.13},
		{[]int{1, 2, 3}, 3.16},
		{[]int{1, 2, 3, 4}, 10.52},
	} {
		rss := sumOfSquares(fitCement(t, row.columns...).Residuals)
		assert.InDelta(t, row.behind, AICc(rss, 13, len(row.columns)+2)-best, 0.006, "%v", row.columns)
	}
}

// Law: it is −2·ln L + 2k·n/(n−k−1) of normal noise, less a constant of n.
func TestAICcIsThatOfLikelihood(t *testing.T) {
	const n = 13.0
	for _, columns := range [][]int{{1}, {1, 2}, {1, 2, 3, 4}} {
		l := fitCement(t, columns...)
		rss, k := sumOfSquares(l.Residuals), float64(len(columns)+2)
		noise := distuv.Normal{Sigma: math.Sqrt(rss / n)}
		likelihood := 0.0
		for _, r := range l.Residuals {
			likelihood += noise.LogProb(r)
		}
		want := -2*likelihood + 2*k*n/(n-k-1) - n*(1+math.Log(2*math.Pi))
		assert.InDelta(t, want, AICc(rss, n, int(k)), 1e-10)
	}
}

func TestAICcIsNotGivenWithoutItsCorrection(t *testing.T) {
	assert.False(t, math.IsNaN(AICc(1, 6, 4)))
	assert.True(t, math.IsNaN(AICc(1, 5, 4)), "n = k + 1")
	assert.True(t, math.IsNaN(AICc(1, 3, 4)))
	assert.True(t, math.IsNaN(AICc(-1, 30, 4)))
	assert.True(t, math.IsNaN(AICc(math.NaN(), 30, 4)))
	assert.True(t, math.IsNaN(AICc(1, 30, 0)))
	assert.True(t, math.IsInf(AICc(0, 30, 4), -1))
	// Law: the unit of y changes no difference.
	assert.InDelta(t, AICc(2, 30, 4)-AICc(3, 30, 3), AICc(2e10, 30, 4)-AICc(3e10, 30, 3), 1e-12*30*25)
}
