package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// curve evaluates the smooth probe temperature.
func (s *smooth) curve(t float64) float64 {
	value, slope := make([]float64, len(s.coef)), make([]float64, len(s.coef))
	s.poly.at((t-s.origin)/s.half, value, slope)
	sum := s.base
	for k, c := range s.coef {
		sum += c * value[k]
	}
	return sum
}

func TestSmoothTemperatureFollowsWhatIsThere(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		truth       func(t float64) float64
		low, degree int // least and most degree
	}{
		"steady":        {func(float64) float64 { return 293 }, 1, 1},
		"ramp of 3 K/h": {func(t float64) float64 { return 293 + 3*t/3600 }, 1, 1},
		"gentle curve":  {func(t float64) float64 { return 293 + 0.3*math.Exp(-t/200) }, 2, 5},
		"half a swing":  {func(t float64) float64 { return 293 + 0.2*math.Sin(t/60) }, 5, 10},
	} {
		t.Run(name, func(t *testing.T) {
			noise := white(3, 0.020)
			s, err := smoothed(sampled(0, 300, 0.1, func(t float64) float64 { return c.truth(t) + noise() }), 0, 300, 0)
			require.NoError(t, err)
			assert.GreaterOrEqual(t, len(s.coef)-1, c.low)
			assert.LessOrEqual(t, len(s.coef)-1, c.degree, "must not chase noise")
			for x := 0.0; x <= 300; x += 10 {
				assert.InDelta(t, c.truth(x), s.curve(x), 0.005, "at %g s", x)
			}
			assert.InDelta(t, 0.020/math.Sqrt(float64(s.perBlock)), s.noise, 0.001)
			assert.Zero(t, s.resolution)
		})
	}
}

// √12·σ/(T·√n) (mark C): σ 0.02, 600 readings at 1 s: standard deviation of the
// slope 2.828e-4 per minute. Here for a temperature in K, √12·σ/(T·√n).
func TestSmoothTemperatureSlopeUncertainty(t *testing.T) {
	t.Parallel()
	var mean float64
	const seeds = 40
	for seed := range uint64(seeds) {
		noise := white(seed, 0.02)
		s, err := smoothed(sampled(0, 600, 1, func(float64) float64 { return 293 + noise() }), 0, 600, 0)
		require.NoError(t, err)
		l := s.liquidOf(0, sampled(1, 0, 1, nil), sampled(0, 600, 1, func(float64) float64 { return 0 }).Time, 0)
		w, _ := slopeWeights(sampled(0, 600, 1, func(float64) float64 { return 0 }).Time)
		mean += 60 * l.noiseOf(l.shapesSince(w)) / seeds
	}
	assert.InEpsilon(t, 2.828e-4, mean, 0.05, "blocks and the estimated inflation cost little")
}

func TestSmoothTemperatureNeedsReadings(t *testing.T) {
	_, err := smoothed(sampled(0, 1, 1, func(float64) float64 { return 293 }), 0, 1, 0)
	assert.ErrorIs(t, err, errFewTemperatures)
}

func TestOrthogonalPolynomials(t *testing.T) {
	t.Parallel()
	x := []float64{-1, -0.9, -0.3, 0, 0.05, 0.5, 0.8, 1}
	p, values := orthogonal(x, 4)
	slope := make([]float64, 5)
	value := make([]float64, 5)
	for j := range values {
		for k := range values {
			var dot float64
			for i := range x {
				dot += values[j][i] * values[k][i]
			}
			if j != k {
				assert.InDelta(t, 0, dot, 1e-14)
			} else {
				assert.InDelta(t, p.norm[k], dot, 1e-14)
			}
		}
	}
	for i, at := range x {
		p.at(at, value, slope)
		above, below := make([]float64, 5), make([]float64, 5)
		p.at(at+1e-5, above, make([]float64, 5))
		p.at(at-1e-5, below, make([]float64, 5))
		for k := range value {
			assert.InDelta(t, values[k][i], value[k], 1e-14)
			assert.InDelta(t, (above[k]-below[k])/2e-5, slope[k], 1e-8)
		}
	}
}
