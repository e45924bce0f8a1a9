package fit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// kinds fits the decay model of n points in both ways; the start is that of
// c0, c1, a.
var kinds = []struct {
	name string
	fit  func(m SeparableModel, y, start []float64, o Options) (Solution, error)
}{
	{"nonlinear", func(m SeparableModel, y, start []float64, o Options) (Solution, error) {
		return Nonlinear(m.Model(len(y)), y, start, o)
	}},
	{"separable", func(m SeparableModel, y, start []float64, o Options) (Solution, error) {
		return Separable(m, y, start[m.Linear:], o)
	}},
}

var decayStart = []float64{99, 2, math.Log(100)}

// assertSame compares two solutions in standard uncertainties, and the
// uncertainties themselves.
func assertSame(t *testing.T, want, got Solution, within float64) {
	t.Helper()
	for j := range want.Parameters {
		u := want.StdUncertainty(j)
		assert.InDelta(t, want.Parameters[j], got.Parameters[j], within*u, "parameter %d", j)
		assert.InEpsilon(t, u, got.StdUncertainty(j), max(within, 1e-9), "uncertainty %d", j)
	}
	assert.InEpsilon(t, want.RSS, got.RSS, 1e-9)
	assert.InEpsilon(t, want.DegreesOfFreedom, got.DegreesOfFreedom, 1e-9)
}

// Law: in which order the observations come does not matter.
func TestNonlinearFitDoesNotDependOnOrder(t *testing.T) {
	times, y := noisyDecay(500)
	random := rand.New(rand.NewPCG(7, 8))
	order := random.Perm(len(y))
	shuffledT, shuffledY := make([]float64, len(y)), make([]float64, len(y))
	for i, k := range order {
		shuffledT[i], shuffledY[i] = times[k], y[k]
	}
	for _, o := range []Options{{}, {Priors: []Prior{{Parameter: 1, Value: 1.1, StdUncertainty: 0.02}}}} {
		for _, kind := range kinds {
			t.Run(fmt.Sprintf("%s/%d priors", kind.name, len(o.Priors)), func(t *testing.T) {
				want, err := kind.fit(decay(times), y, decayStart, o)
				require.NoError(t, err)
				got, err := kind.fit(decay(shuffledT), shuffledY, decayStart, o)
				require.NoError(t, err)
				assertSame(t, want, got, 1e-6)
				for i, k := range order {
					assert.InDelta(t, want.Residuals[k], got.Residuals[i], 1e-8)
				}
			})
		}
	}
}

// Law: the unit of a parameter and that of y change nothing but the unit.
func TestNonlinearFitDoesNotDependOnScales(t *testing.T) {
	times, y := noisyDecay(500)
	whole := decay(times).Model(len(y))
	want, err := Nonlinear(whole, y, decayStart, Options{})
	require.NoError(t, err)
	for _, scale := range [][]float64{{1e6, 1, 1}, {1, 1e-9, 1}, {1e-5, 1e12, 1e3}, {0x1p40, 0x1p-40, 0x1p10}} {
		back := func(x []float64) []float64 {
			return []float64{x[0] / scale[0], x[1] / scale[1], x[2] / scale[2]}
		}
		scaled := Model{
			Values: func(dst, x []float64) { whole.Values(dst, back(x)) },
			Jacobian: func(dst [][]float64, x []float64) {
				whole.Jacobian(dst, back(x))
				for j, column := range dst {
					for i := range column {
						column[i] /= scale[j]
					}
				}
			},
		}
		start := []float64{decayStart[0] * scale[0], decayStart[1] * scale[1], decayStart[2] * scale[2]}
		got, err := Nonlinear(scaled, y, start, Options{})
		require.NoError(t, err)
		assert.Equal(t, want.Tries, got.Tries, "the same way down")
		for j := range scale {
			assert.InDelta(t, want.Parameters[j], got.Parameters[j]/scale[j], 1e-7*want.StdUncertainty(j))
			assert.InEpsilon(t, want.StdUncertainty(j), got.StdUncertainty(j)/scale[j], 1e-8)
		}
	}
	const unit = 1e5
	pascal := make([]float64, len(y))
	for i, v := range y {
		pascal[i] = v * unit
	}
	for _, kind := range kinds {
		got, err := kind.fit(decay(times), pascal, []float64{99 * unit, 2 * unit, decayStart[2]}, Options{})
		require.NoError(t, err)
		assert.InEpsilon(t, want.Parameters[0]*unit, got.Parameters[0], 1e-10)
		assert.InEpsilon(t, want.StdUncertainty(1)*unit, got.StdUncertainty(1), 1e-8)
		assert.InEpsilon(t, want.StdUncertainty(2), got.StdUncertainty(2), 1e-8)
	}
}

// Law: both solvers, with the derivatives stated or by differences, end at one
// point; a workspace kept from other fits changes nothing.
func TestSolversAgree(t *testing.T) {
	times, y := noisyDecay(500)
	want, err := Nonlinear(decay(times).Model(500), y, decayStart, Options{})
	require.NoError(t, err)
	numeric := decay(times)
	numeric.Slopes = nil
	w := new(Workspace)
	for _, kind := range kinds {
		for name, m := range map[string]SeparableModel{"stated": decay(times), "differences": numeric} {
			t.Run(kind.name+"/"+name, func(t *testing.T) {
				first, err := kind.fit(m, y, decayStart, Options{Workspace: w})
				require.NoError(t, err)
				assertSame(t, want, first, 1e-5)
				short, err := kind.fit(decay(times[:50]), y[:50], decayStart, Options{Workspace: w})
				if err == nil {
					assert.Len(t, short.Residuals, 50)
				}
				again, err := kind.fit(m, y, decayStart, Options{Workspace: w})
				require.NoError(t, err)
				assert.Equal(t, first.Parameters, again.Parameters)
				assert.Equal(t, first.Covariance, again.Covariance)
			})
		}
	}
}

// Law: a linear model comes out as from linear least squares.
func TestNonlinearFitOfLinearModelIsLinear(t *testing.T) {
	times, y := noisyLine(300, 2, 10, -0.5, 0.3)
	x := mat.NewDense(len(y), 2, nil)
	for i, v := range times {
		x.SetRow(i, []float64{1, v})
	}
	want, err := LeastSquares(x, y)
	require.NoError(t, err)
	m := Model{
		Values: func(dst, c []float64) {
			for i, v := range times {
				dst[i] = c[0] + c[1]*v
			}
		},
		Jacobian: func(dst [][]float64, _ []float64) {
			for i, v := range times {
				dst[0][i], dst[1][i] = 1, v
			}
		},
	}
	for _, start := range [][]float64{{0, 0}, {1e3, -1e3}, {1e-9, 1e9}} {
		got, err := Nonlinear(m, y, start, Options{})
		require.NoError(t, err)
		for i := range 2 {
			assert.InEpsilon(t, want.Coefficients[i], got.Parameters[i], 1e-11)
			for j := range 2 {
				assert.InEpsilon(t, want.Covariance.At(i, j), got.Covariance.At(i, j), 1e-10)
			}
		}
		assert.InEpsilon(t, want.ResidualStd, got.ResidualStd, 1e-12)
		assert.Equal(t, float64(want.DegreesOfFreedom), got.DegreesOfFreedom)
		assert.InDeltaSlice(t, want.Residuals, got.Residuals, 1e-11)
	}
}

// Law: the stated covariance is that of the estimates, over many noises, with
// and without a prior that is itself drawn anew.
func TestCovarianceOfNonlinearFitIsThatOfEstimates(t *testing.T) {
	const runs, n, seed = 1500, 60, 20261125
	const prior = 0.05
	times, clean, truth := make([]float64, n), make([]float64, n), []float64{100, 1, math.Log(20)}
	for i := range times {
		times[i] = float64(i)
	}
	m := decay(times)
	m.Model(n).Values(clean, truth)
	for _, priors := range []bool{false, true} {
		random := rand.New(rand.NewPCG(seed, 1))
		y := make([]float64, n)
		var found, stated [3]float64
		w := new(Workspace)
		for range runs {
			for i := range y {
				y[i] = clean[i] + 0.01*random.NormFloat64()
			}
			o := Options{Workspace: w}
			if priors {
				o.Priors = []Prior{{Parameter: 2, Value: truth[2] + prior*random.NormFloat64(), StdUncertainty: prior}}
			}
			s, err := Separable(m, y, truth[2:], o)
			require.NoError(t, err)
			for j := range found {
				d := s.Parameters[j] - truth[j]
				found[j] += d * d / runs
				stated[j] += s.Covariance.At(j, j) / runs
			}
		}
		// Four standard errors of a variance from 1500 runs are 15 %.
		for j := range found {
			t.Logf("seed %d, prior %v, parameter %d: found %.3g, stated %.3g", seed, priors, j, math.Sqrt(found[j]), math.Sqrt(stated[j]))
			assert.InEpsilon(t, found[j], stated[j], 0.15)
		}
	}
}
