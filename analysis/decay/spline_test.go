package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// The banded solution against the same curve by dense matrices: coefficients,
// variances and freedom. Mark L.
func TestSplineAgreesWithDenseMatrices(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(8, 1))
	const pieces, n = 9, 60
	var times, y []float64
	for i := range n {
		times = append(times, 100*float64(i)/(n-1))
		y = append(y, math.Sin(times[i]/12)+0.1*random.NormFloat64())
	}
	s, gain := newSpline(times, y, 0, 100, pieces)
	require.Greater(t, gain, 10.0)
	m := pieces + cubic
	b := mat.NewDense(n, m, nil)
	for i, at := range times {
		r := s.row(at, 0)
		assert.InDelta(t, 1, floats.Sum(r.weight[:]), 1e-12, "they share the whole among them")
		for k, w := range r.weight {
			b.Set(i, r.first+k, w)
		}
	}
	// λ is not kept: found again from UᵀU.
	var own, all, inverse mat.Dense
	own.Mul(b.T(), b)
	u := mat.NewDense(m, m, nil)
	for i := range m {
		for d := 0; d <= cubic && i+d < m; d++ {
			u.Set(i, i+d, s.root.Data[i*s.root.Stride+d])
		}
	}
	all.Mul(u.T(), u)
	lambda := all.At(0, 0) - own.At(0, 0)
	d := mat.NewDense(m-2, m, nil)
	for j := range m - 2 {
		d.Set(j, j, 1)
		d.Set(j, j+1, -2)
		d.Set(j, j+2, 1)
	}
	var bent, want mat.Dense
	bent.Mul(d.T(), d)
	bent.Scale(lambda, &bent)
	want.Add(&own, &bent)
	assert.True(t, mat.EqualApprox(&want, &all, 1e-9))
	require.NoError(t, inverse.Inverse(&want))
	var right, coef, smoother mat.Dense
	right.Mul(b.T(), mat.NewDense(n, 1, y))
	coef.Mul(&inverse, &right)
	for j, c := range s.coef {
		assert.InDelta(t, coef.At(j, 0), c, 1e-9)
	}
	for i := range m {
		for k := 0; k <= cubic && i+k < m; k++ {
			assert.InDelta(t, inverse.At(i, i+k), s.near[i][k], 1e-9)
		}
	}
	smoother.Mul(&inverse, &own)
	assert.InDelta(t, mat.Trace(&smoother), s.freedom, 1e-8)
	// The variance of any sum, both ways.
	by := make([]float64, m)
	for j := range by {
		by[j] = random.NormFloat64()
	}
	var square float64
	for i := range m {
		for j := range m {
			square += by[i] * by[j] * inverse.At(i, j)
		}
	}
	s.uncorrelated(by)
	assert.InEpsilon(t, square, floats.Dot(by, by), 1e-9)
}

// A spline's slope is the derivative of its value.
func TestSplineSlopes(t *testing.T) {
	t.Parallel()
	s := &spline{from: 3, step: 7, coef: []float64{1, 5, -2, 4, 0, 3, 3}}
	for _, at := range []float64{1, 3, 9.99, 10.01, 22, 31, 33} {
		_, slope := s.value(at)
		above, _ := s.value(at + 1e-5)
		below, _ := s.value(at - 1e-5)
		assert.InDelta(t, (above-below)/2e-5, slope, 1e-8)
	}
}

// Long holds whose probe does what no polynomial of low degree follows.
func TestLocalCurveFollowsWhatSwitches(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		truth          func(t float64) float64
		duration, rms  float64
		noise, rounded float64
	}{
		"heating over 8 h":          {heating(0.6, 1200, 0.2), 8 * 3600, 0.010, 0.02, 0},
		"heating over a day":        {heating(0.6, 1200, 0.2), 24 * 3600, 0.015, 0.02, 0},
		"heating in steps of 0.1 K": {heating(0.6, 1200, 0.2), 8 * 3600, 0.040, 0.002, 0.1},
		"a door":                    {door(1, 3000, 900), 7200, 0.010, 0.02, 0},
	} {
		t.Run(name, func(t *testing.T) {
			noise := white(3, c.noise)
			s, err := smoothed(sampled(0, c.duration, 5, func(t float64) float64 {
				v := c.truth(t) + noise()
				if c.rounded > 0 {
					v = c.rounded * math.Round(v/c.rounded)
				}
				return v
			}), 0, c.duration, c.rounded)
			require.NoError(t, err)
			require.True(t, s.local != nil)
			var square float64
			const places = 1000
			for i := range places {
				at := c.duration * (float64(i) + 0.5) / places
				square += math.Pow(s.base+s.reading(at)-c.truth(at), 2) / places
			}
			assert.Less(t, math.Sqrt(square), c.rms)
		})
	}
}

// What a curve of low degree follows, or noise that remembers makes, is left
// to it.
func TestLocalCurveIsNotTakenWithoutNeed(t *testing.T) {
	t.Parallel()
	for name, truth := range map[string]func(t float64) float64{
		"steady":       func(float64) float64 { return 293 },
		"ramp":         func(t float64) float64 { return 293 + 3*t/3600 },
		"gentle curve": func(t float64) float64 { return 293 + 0.3*math.Exp(-t/200) },
	} {
		for _, phi := range []float64{0, 0.8} {
			for seed := range uint64(20) {
				random, last := rand.New(rand.NewPCG(seed, 4)), 0.0
				s, err := smoothed(sampled(0, 300, 0.1, func(t float64) float64 {
					last = phi*last + math.Sqrt(1-phi*phi)*0.02*random.NormFloat64()
					return truth(t) + last
				}), 0, 300, 0)
				require.NoError(t, err)
				assert.True(t, s.local == nil, "%s, φ %g, seed %d", name, phi, seed)
			}
		}
	}
}

// What a liquid that follows makes of weights, backwards, is what it does
// forwards: the derivatives of a sum by the spline's coefficients against
// differences. Mark L.
func TestLocalPartIsTheDerivative(t *testing.T) {
	t.Parallel()
	noise := white(9, 0.02)
	c := sampled(100, 7300, 10, func(t float64) float64 { return heating(0.6, 1200, 0)(t) + noise() })
	before := sampled(0, 99, 10, func(t float64) float64 { return heating(0.6, 1200, 0)(t) + noise() })
	s, err := smoothed(c, 100, 7300, 0)
	require.NoError(t, err)
	require.True(t, s.local != nil)
	times := sampled(105, 7295, 30, func(float64) float64 { return 0 }).Time
	g := make([]float64, len(times))
	for i := range g {
		g[i] = math.Cos(float64(i)) + 0.1
	}
	for _, lag := range []float64{0, -40, 60} {
		l := s.liquidOf(lag, before, times, 100)
		var got []float64
		for _, p := range l.parts {
			if isLocal(p) {
				got = p.by(g, floats.Sum(g))
			}
		}
		want := make([]float64, len(s.local.coef))
		was := l.since(g)
		for j := range want {
			s.local.coef[j]++
			want[j] = s.liquidOf(lag, before, times, 100).since(g) - was
			s.local.coef[j]--
		}
		s.local.uncorrelated(want)
		floats.Scale(s.noise*s.inflation, want)
		if lag > 0 {
			continue // unremembered depends on the curve too
		}
		for j := range want {
			assert.InDelta(t, want[j], got[j], 1e-6)
		}
	}
}
