package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
)

// Twelve readings an hour apart, bar. Expected figures: computed with an
// independent statistics package, mark C.
func TestLineOfTwelveReadings(t *testing.T) {
	times := []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11}
	p := []float64{100.00, 99.93, 99.85, 99.81, 99.70, 99.66, 99.61, 99.50, 99.44, 99.42, 99.31, 99.26}
	l, err := Line(times, p)
	require.NoError(t, err)
	r1 := Lag1(l.Residuals)
	assert.InDelta(t, -0.06723776, l.Coefficients[1], 5e-9)
	assert.InDelta(t, 0.00154209, l.StdUncertainty(1), 5e-9)
	assert.InDelta(t, -0.48303, r1, 5e-6)
	t95 := distuv.StudentsT{Sigma: 1, Nu: 10}.Quantile(0.95)
	assert.InDelta(t, 0.07003273, -l.Coefficients[1]+t95*l.StdUncertainty(1), 5e-9)

	rho := Autocorrelation(l.Residuals)
	assert.InDelta(t, r1+(1+4*r1)/12, rho, 1e-15)
	factor, effective := AR1Inflation(rho, 12)
	assert.Equal(t, 1.0, factor, "a negative correlation never narrows an interval")
	assert.Equal(t, 12.0, effective)
}

// The exact variance factor of the mean of an AR(1) series, which AR1Inflation
// nears from above as n grows.
//
//	(1+φ)/(1−φ) − 2φ(1−φⁿ)/(n(1−φ)²)
//
// Expected figures: computed with an independent statistics package, mark C.
func TestAR1InflationNearsExactFactorOfMean(t *testing.T) {
	for _, row := range []struct {
		n                int
		phi, want, delta float64
	}{
		{1440, 0.9, 18.875, 5e-4},
		{60, 0.8, 8.3333, 5e-5},
		{100, 0.5, 2.96, 5e-3},
	} {
		n := float64(row.n)
		exact := (1+row.phi)/(1-row.phi) - 2*row.phi*(1-math.Pow(row.phi, n))/(n*(1-row.phi)*(1-row.phi))
		assert.InDelta(t, row.want, exact, row.delta)
		factor, effective := AR1Inflation(row.phi, row.n)
		assert.Greater(t, factor*factor, exact)
		rest := 2 * row.phi / (n * (1 - row.phi) * (1 - row.phi))
		assert.InDelta(t, row.want, factor*factor-rest, row.delta, "the term in 1/n is all that is left out")
		assert.InEpsilon(t, n, effective*factor*factor, 1e-12)
	}
}

func TestAutocorrelationOfEdgeCases(t *testing.T) {
	rising := make([]float64, 5000)
	for i := range rising {
		rising[i] = float64(i)
	}
	alternating := []float64{1, -1, 1, -1, 1, -1, 1, -1}
	assert.Equal(t, 0.0, Autocorrelation(nil))
	assert.Equal(t, 0.0, Autocorrelation(make([]float64, 10)))
	assert.Equal(t, 0.0, Lag1([]float64{3, 3, 3}))
	assert.Equal(t, 0.999, Autocorrelation(rising))
	assert.GreaterOrEqual(t, Autocorrelation(alternating), -0.99)
	assert.True(t, math.IsNaN(Autocorrelation([]float64{1, math.NaN(), 2})))
	factor, effective := AR1Inflation(math.NaN(), 10)
	assert.True(t, math.IsNaN(factor), "NaN must reach the verdict")
	assert.True(t, math.IsNaN(effective))
	for _, rho := range []float64{-1, -0.5, 0, 0.5, 0.999} {
		factor, effective := AR1Inflation(rho, 100)
		assert.GreaterOrEqual(t, factor, 1.0)
		assert.LessOrEqual(t, effective, 100.0)
	}
}

// One-sided coverage of the slope of 240 readings with AR(1) noise where 95 %
// is claimed. Expected: a simulation of the same plan with an independent
// statistics package, 4000 runs, mark C. Both sides carry Monte-Carlo error,
// so the difference may be four times √2·√(c(1−c)/4000).
func TestCoverageUnderAutocorrelatedNoise(t *testing.T) {
	const runs, n, seed = 4000, 240, 20261125
	t.Logf("seed %d, %d runs of %d readings", seed, runs, n)
	for i, row := range []struct{ phi, plain, inflated, blocks float64 }{
		{0, .948, .947, .946},
		{.5, .814, .944, .942},
		{.9, .649, .943, .924},
		{.97, .580, .931, .851},
	} {
		random := rand.New(rand.NewPCG(seed, uint64(i)))
		var plain, inflated, blocks float64
		for range runs {
			times, y := ar1(random, n, row.phi)
			l, err := Line(times, y)
			require.NoError(t, err)
			plain += covers(l, 1, float64(l.DegreesOfFreedom)) / runs
			factor, effective := AR1Inflation(Autocorrelation(l.Residuals), n)
			inflated += covers(l, factor, effective-2) / runs
			b, err := BlockMeans(times, y, 8)
			require.NoError(t, err)
			blocks += covers(b, 1, float64(b.DegreesOfFreedom)) / runs
		}
		t.Logf("φ %.2f: least squares %.3f (%.3f), inflated %.3f (%.3f), 8 block means %.3f (%.3f)",
			row.phi, plain, row.plain, inflated, row.inflated, blocks, row.blocks)
		for _, c := range []struct{ want, got float64 }{{row.plain, plain}, {row.inflated, inflated}, {row.blocks, blocks}} {
			assert.InDelta(t, c.want, c.got, 4*math.Sqrt(2*c.want*(1-c.want)/runs), "φ %g", row.phi)
		}
	}
}

// ar1 returns a stationary AR(1) series of unit variance without a trend.
func ar1(random *rand.Rand, n int, phi float64) (t, y []float64) {
	t, y = make([]float64, n), make([]float64, n)
	step := math.Sqrt(1 - phi*phi)
	for i := range n {
		t[i] = float64(i)
		y[i] = step * random.NormFloat64()
		if i == 0 {
			y[i] = random.NormFloat64()
		} else {
			y[i] += phi * y[i-1]
		}
	}
	return t, y
}

// covers returns 1 when the true slope, 0, lies under the upper 95 % bound;
// dof not above 0 bound nothing.
func covers(l Linear, factor, dof float64) float64 {
	if dof <= 0 {
		return 1
	}
	t95 := distuv.StudentsT{Sigma: 1, Nu: dof}.Quantile(0.95)
	if l.Coefficients[1]+t95*factor*l.StdUncertainty(1) >= 0 {
		return 1
	}
	return 0
}
