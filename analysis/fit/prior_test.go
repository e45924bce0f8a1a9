package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// level is y = c0, with a second parameter that changes nothing.
var level = Model{
	Values: func(dst, c []float64) {
		for i := range dst {
			dst[i] = c[0]
		}
	},
	Jacobian: func(dst [][]float64, _ []float64) {
		for i := range dst[0] {
			dst[0][i], dst[1][i] = 1, 0
		}
	},
}

// A mean and what was known before are weighed by 1/u² (mark L).
func TestPriorIsWeighedByItsUncertainty(t *testing.T) {
	y := []float64{9, 11, 10, 12} // mean 10.5
	const sigma, known, u = 2.0, 8.0, 0.5
	s, err := Nonlinear(level, y, []float64{0, 3}, Options{Sigma: sigma, Priors: []Prior{
		{Parameter: 0, Value: known, StdUncertainty: u}, {Parameter: 1, Value: 3, StdUncertainty: 0.1},
	}})
	require.NoError(t, err)
	weight, before := 4/(sigma*sigma), 1/(u*u)
	assert.InEpsilon(t, (weight*10.5+before*known)/(weight+before), s.Parameters[0], 1e-12)
	assert.InEpsilon(t, 1/math.Sqrt(weight+before), s.StdUncertainty(0), 1e-12)
	assert.InEpsilon(t, 3, s.Parameters[1], 1e-12, "without data a prior stays as it is")
	assert.InEpsilon(t, 0.1, s.StdUncertainty(1), 1e-12)
	assert.Equal(t, sigma, s.Sigma)
	assert.InEpsilon(t, 4-weight/(weight+before), s.DegreesOfFreedom, 1e-12, "the data's share of the mean")
	assert.InEpsilon(t, math.Sqrt(s.RSS/s.DegreesOfFreedom), s.ResidualStd, 1e-12)

	inflated := s.Inflated(3)
	want := s.Covariance.At(0, 0)
	fromPrior := want * want * before
	assert.InEpsilon(t, 9*(want-fromPrior)+fromPrior, inflated.At(0, 0), 1e-12, "noise alone is inflated")
	assert.InEpsilon(t, 0.01, inflated.At(1, 1), 1e-12, "what comes from a prior alone stays")
}

func TestNoiseBesidePriorsIsThatOfResiduals(t *testing.T) {
	times, y := noisyDecay(200)
	plain, err := Separable(decay(times), y, decayStart[2:], Options{})
	require.NoError(t, err)
	for _, kind := range kinds {
		t.Run(kind.name, func(t *testing.T) {
			s, err := kind.fit(decay(times), y, decayStart, Options{Priors: []Prior{
				{Parameter: 2, Value: plain.Parameters[2] + 0.1, StdUncertainty: plain.StdUncertainty(2)},
			}})
			require.NoError(t, err)
			assert.InEpsilon(t, s.Sigma, s.ResidualStd, 1e-8)
			assert.Greater(t, s.DegreesOfFreedom, 197.0)
			assert.Less(t, s.DegreesOfFreedom, 198.0)
			assert.Less(t, s.StdUncertainty(2), plain.StdUncertainty(2))
			assert.Greater(t, s.Parameters[2], plain.Parameters[2])
			assert.Less(t, s.Parameters[2], plain.Parameters[2]+0.1)

			same, err := kind.fit(decay(times), y, decayStart, Options{Sigma: s.Sigma, Priors: []Prior{
				{Parameter: 2, Value: plain.Parameters[2] + 0.1, StdUncertainty: plain.StdUncertainty(2)},
			}})
			require.NoError(t, err)
			assertSame(t, s, same, 1e-6)
		})
	}
}

// Law: a prior that says nothing changes nothing, one that says all holds.
func TestWideAndNarrowPriors(t *testing.T) {
	times, y := noisyDecay(200)
	for _, kind := range kinds {
		for parameter := range 3 {
			plain, err := kind.fit(decay(times), y, decayStart, Options{})
			require.NoError(t, err)
			wide, err := kind.fit(decay(times), y, decayStart, Options{Priors: []Prior{{parameter, 7, 1e7}}})
			require.NoError(t, err)
			assertSame(t, plain, wide, 1e-5)
			held := plain.Parameters[parameter] * 1.0001
			narrow, err := kind.fit(decay(times), y, decayStart, Options{Priors: []Prior{{parameter, held, 1e-9}}})
			require.NoError(t, err, "%s %d", kind.name, parameter)
			assert.InDelta(t, held, narrow.Parameters[parameter], 1e-9)
			assert.InEpsilon(t, 1e-9, narrow.StdUncertainty(parameter), 1e-3)
			assert.InEpsilon(t, 198, narrow.DegreesOfFreedom, 1e-3)
		}
	}
}

func TestKnownNoiseReplacesThatOfResiduals(t *testing.T) {
	times, y := noisyDecay(200)
	plain, err := Separable(decay(times), y, decayStart[2:], Options{})
	require.NoError(t, err)
	known, err := Separable(decay(times), y, decayStart[2:], Options{Sigma: 3 * plain.ResidualStd})
	require.NoError(t, err)
	assert.Equal(t, plain.Parameters, known.Parameters)
	assert.Equal(t, plain.ResidualStd, known.ResidualStd)
	assert.InEpsilon(t, 3*plain.StdUncertainty(2), known.StdUncertainty(2), 1e-12)
	assert.InEpsilon(t, 4*plain.Covariance.At(0, 1), plain.Inflated(2).At(0, 1), 1e-12)
	assert.InEpsilon(t, plain.StdUncertainty(1), plain.Propagate([]float64{0, 1, 0}), 1e-12)
	assert.InEpsilon(t, plain.Correlation(0, 2), plain.Correlation(2, 0), 1e-12)
}
