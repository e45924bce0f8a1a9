package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

func noisyLine(n int, from, level, slope, noise float64) (t, y []float64) {
	random := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		x := from + 0.1*float64(i)
		t = append(t, x)
		y = append(y, level+slope*(x-from)+noise*random.NormFloat64())
	}
	return t, y
}

// Law: where the clock's zero lies changes neither slope nor the line's value
// and uncertainty at an instant.
func TestLineDoesNotDependOnZeroOfTime(t *testing.T) {
	base, y := noisyLine(3000, 0, 1e7, -500, 1000)
	want, err := Line(base, y)
	require.NoError(t, err)
	wantEnd, wantU := want.At(300)
	for _, shift := range []float64{1, 3600, 1e6} {
		moved := make([]float64, len(base))
		for i, v := range base {
			moved[i] = v + shift
		}
		l, err := Line(moved, y)
		require.NoError(t, err)
		assert.InEpsilon(t, want.Coefficients[1], l.Coefficients[1], 1e-8)
		assert.InEpsilon(t, want.StdUncertainty(1), l.StdUncertainty(1), 1e-8)
		end, u := l.At(300 + shift)
		assert.InEpsilon(t, wantEnd, end, 1e-12)
		assert.InEpsilon(t, wantU, u, 1e-8)
	}
}

// Law: a line without noise comes out as it went in, and so does a law with
// three columns.
func TestFitRecoversModelWithoutNoise(t *testing.T) {
	times, y := noisyLine(500, 100, 3, -0.25, 0)
	l, err := Line(times, y)
	require.NoError(t, err)
	assert.InEpsilon(t, -0.25, l.Coefficients[1], 1e-12)
	assert.InEpsilon(t, 3+0.25*100, l.Coefficients[0], 1e-12)
	assert.InDelta(t, 0, l.ResidualStd, 1e-13)

	x := mat.NewDense(len(times), 3, nil)
	curve := make([]float64, len(times))
	for i, v := range times {
		x.SetRow(i, []float64{1, v, v * v})
		curve[i] = 2 - 3*v + 0.5*v*v
	}
	g, err := LeastSquares(x, curve)
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{2, -3, 0.5}, g.Coefficients, 1e-9)
}

// Law: Predict and At are the same figure, and neither changes its input.
func TestAtEqualsPredict(t *testing.T) {
	times, y := noisyLine(200, 5, 10, 1, 0.5)
	l, err := Line(times, y)
	require.NoError(t, err)
	for _, at := range []float64{0, 5, 14.95, 25, 100} {
		v1, u1 := l.Predict([]float64{1, at})
		v2, u2 := l.At(at)
		assert.InEpsilon(t, v1, v2, 1e-12)
		assert.InEpsilon(t, u1, u2, 1e-10)
	}
}

// Law: the stated covariance is that of the estimates, over many noises.
func TestCovarianceIsThatOfEstimates(t *testing.T) {
	const runs, n = 2000, 40
	random := rand.New(rand.NewPCG(3, 4))
	times, y := make([]float64, n), make([]float64, n)
	var slope, slope2, variance, both, covariance, level float64
	for range runs {
		for i := range n {
			times[i] = float64(i)
			y[i] = random.NormFloat64()
		}
		l, err := Line(times, y)
		require.NoError(t, err)
		slope += l.Coefficients[1]
		level += l.Coefficients[0]
		slope2 += l.Coefficients[1] * l.Coefficients[1]
		both += l.Coefficients[0] * l.Coefficients[1]
		variance += l.Covariance.At(1, 1)
		covariance += l.Covariance.At(0, 1)
	}
	// Four standard errors of a variance from 2000 runs are 13 %.
	assert.InEpsilon(t, slope2/runs, variance/runs, 0.13)
	assert.InEpsilon(t, both/runs, covariance/runs, 0.13)
	assert.InDelta(t, 0, slope/runs, 4*math.Sqrt(variance/runs/runs))
}

func TestFitRefusesWhatItCannotFit(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		t, y []float64
		want error
	}{
		"nothing":             {nil, nil, ErrTooFew},
		"two points":          {[]float64{0, 1}, []float64{0, 1}, ErrTooFew},
		"one instant":         {[]float64{0.1, 0.1, 0.1, 0.1}, []float64{1, 2, 3, 4}, ErrRank},
		"one late instant":    {[]float64{1e9 / 3, 1e9 / 3, 1e9 / 3}, []float64{1, 2, 3}, ErrRank},
		"a missing value":     {[]float64{0, 1, 2, 3}, []float64{1, nan, 3, 4}, ErrNotFinite},
		"a missing time":      {[]float64{0, nan, 2, 3}, []float64{1, 2, 3, 4}, ErrNotFinite},
		"an infinite value":   {[]float64{0, 1, 2, 3}, []float64{1, inf, 3, 4}, ErrNotFinite},
		"values that overrun": {[]float64{0, 1, 2, 3}, []float64{1e200, -1e200, 1e200, 2}, ErrNotFinite},
	} {
		_, err := Line(c.t, c.y)
		assert.ErrorIs(t, err, c.want, name)
	}

	twice := mat.NewDense(5, 2, []float64{1, 3, 2, 6, 3, 9, 4, 12, 5, 15})
	_, err := LeastSquares(twice, []float64{1, 2, 3, 4, 6})
	assert.ErrorIs(t, err, ErrRank, "one column three times the other")
	sum := mat.NewDense(5, 3, []float64{1, .1, 1.1, 1, .2, 1.2, 1, .3, 1.3, 1, .7, 1.7, 1, .4, 1.4})
	_, err = LeastSquares(sum, []float64{1, 2, 3, 4, 6})
	assert.ErrorIs(t, err, ErrRank, "a column that is the sum of two, up to rounding")
	for noise, want := range map[float64]error{1e-14: ErrRank, 1e-9: nil} {
		nearly := mat.DenseCopyOf(sum)
		for i := range 5 {
			nearly.Set(i, 2, nearly.At(i, 2)+noise*float64(i*i))
		}
		_, err = LeastSquares(nearly, []float64{1, 2, 3, 4, 6})
		assert.ErrorIs(t, err, want, "a column that is the sum of two but for %g", noise)
	}
	_, err = LeastSquares(mat.NewDense(4, 2, []float64{1, 0, 2, 0, 3, 0, 4, 0}), []float64{1, 2, 3, 4})
	assert.ErrorIs(t, err, ErrRank, "a column of zeros")
	_, err = LeastSquares(mat.NewDense(2, 2, []float64{1, 0, 0, 1}), []float64{1, 2})
	assert.ErrorIs(t, err, ErrTooFew)
	_, err = LeastSquares(mat.NewDense(3, 1, []float64{1, nan, 1}), []float64{1, 2, 3})
	assert.ErrorIs(t, err, ErrNotFinite)
	_, err = LeastSquares(mat.NewDense(3, 1, []float64{1, 2, 1}), []float64{1, nan, 3})
	assert.ErrorIs(t, err, ErrNotFinite)

	assert.Panics(t, func() { _, _ = Line([]float64{1}, nil) })
	assert.Panics(t, func() { _, _ = LeastSquares(mat.NewDense(3, 1, nil), []float64{1}) })
}

func TestBlockMeansTakesEveryPointOnce(t *testing.T) {
	times, y := noisyLine(1003, 0, 5, 2, 0)
	l, err := BlockMeans(times, y, 8)
	require.NoError(t, err)
	assert.Equal(t, 6, l.DegreesOfFreedom)
	assert.InEpsilon(t, 2, l.Coefficients[1], 1e-12)
	_, err = BlockMeans(times, y, 2)
	assert.ErrorIs(t, err, ErrTooFew)
	_, err = BlockMeans(times[:7], y[:7], 8)
	assert.ErrorIs(t, err, ErrTooFew)
	y[1002] = math.NaN() // the last point belongs to the last block
	_, err = BlockMeans(times, y, 8)
	assert.ErrorIs(t, err, ErrNotFinite)
}

func BenchmarkLine9000(b *testing.B) {
	times, y := noisyLine(9000, 600, 1e7, -500, 1000)
	for b.Loop() {
		l, err := Line(times, y)
		if err != nil {
			b.Fatal(err)
		}
		Autocorrelation(l.Residuals)
	}
}

func BenchmarkLeastSquares9000x3(b *testing.B) {
	times, y := noisyLine(9000, 600, 1e7, -500, 1000)
	x := mat.NewDense(len(times), 3, nil)
	for i, v := range times {
		x.SetRow(i, []float64{1, v - 1050, (v - 1050) * (v - 1050)})
	}
	for b.Loop() {
		if _, err := LeastSquares(x, y); err != nil {
			b.Fatal(err)
		}
	}
}
