package fit

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
)

// mixture is noise of a white part, an AR(1) part and a slow part, the sum of
// AR(1) series with correlation times an octave and a half apart.
type mixture struct{ white, correlated, phi, slow float64 }

func (x mixture) draw(random *rand.Rand, y []float64) {
	parts := []struct{ sigma, phi, at float64 }{{sigma: x.correlated, phi: x.phi}}
	for _, tau := range []float64{6, 18, 54, 162} {
		parts = append(parts, struct{ sigma, phi, at float64 }{sigma: x.slow / 2, phi: math.Exp(-1 / tau)})
	}
	for k := range parts {
		parts[k].at = random.NormFloat64()
	}
	for i := range y {
		y[i] = x.white * random.NormFloat64()
		for k, p := range parts {
			if p.sigma == 0 {
				continue
			}
			parts[k].at = p.phi*p.at + math.Sqrt(1-p.phi*p.phi)*random.NormFloat64()
			y[i] += p.sigma * parts[k].at
		}
	}
}

// Two-sided coverage of the slope's 95 % interval, by the autocorrelation at
// lag 1 alone and by the memory. Bounds on what is simulated here: within 93 to
// 97 % where there are readings enough to tell, and never under what lag 1 alone
// gives.
func TestCoverageUnderMixedNoise(t *testing.T) {
	const seed = 20261125
	t.Logf("seed %d; least to most allowed; lag 1 alone → memory, and the half width over that of known noise (median)", seed)
	for _, row := range []struct {
		name        string
		noise       mixture
		least, most [4]float64 // through 60, 120, 300, 3000 readings
	}{
		{"white", mixture{white: 1}, [4]float64{.94, .94, .94, .93}, [4]float64{.98, .98, .98, .98}},
		{"AR(1) 0.5", mixture{correlated: 1, phi: 0.5}, [4]float64{.92, .93, .93, .93}, [4]float64{.975, .975, .975, .975}},
		{"AR(1) 0.9", mixture{correlated: 1, phi: 0.9}, [4]float64{.89, .91, .93, .93}, [4]float64{1, 1, .98, .98}},
		{"AR(1) 0.97", mixture{correlated: 1, phi: 0.97}, [4]float64{.85, .88, .90, .93}, [4]float64{1, 1, 1, .98}},
		{"white + 0.5", mixture{white: 1, correlated: 1, phi: 0.5}, [4]float64{.92, .93, .93, .93}, [4]float64{.98, .98, .98, .98}},
		{"white + 0.8", mixture{white: 1, correlated: 1, phi: 0.8}, [4]float64{.86, .90, .93, .93}, [4]float64{.98, .98, .98, .98}},
		{"white + 0.95", mixture{white: 1, correlated: 1, phi: 0.95}, [4]float64{.66, .77, .88, .92}, [4]float64{1, 1, .98, .98}},
		{"white + 0.3 + slow", mixture{1, 1, 0.3, 0.2}, [4]float64{.92, .91, .88, .92}, [4]float64{.98, .98, .98, .98}},
		{"white + 0.8 + slow", mixture{1, 1, 0.8, 0.2}, [4]float64{.85, .89, .90, .93}, [4]float64{.98, .98, .98, .99}},
	} {
		for k, n := range []int{60, 120, 300, 3000} {
			runs := 1200
			if n > 1000 {
				runs = 400
			}
			c := slopeCoverage(t, rand.New(rand.NewPCG(seed, uint64(n))), row.noise, n, runs)
			t.Logf("%-20s n %4d: %.3f…%.3f: %.3f → %.3f, width %.2f → %.2f",
				row.name, n, row.least[k], row.most[k], c.lag1, c.memory, c.lag1Width, c.memoryWidth)
			assert.GreaterOrEqual(t, c.memory, row.least[k], "%s, %d", row.name, n)
			assert.LessOrEqual(t, c.memory, row.most[k], "%s, %d", row.name, n)
			assert.GreaterOrEqual(t, c.memory, c.lag1, "%s, %d: never under lag 1", row.name, n)
		}
	}
}

type coverage struct{ lag1, memory, lag1Width, memoryWidth float64 }

func slopeCoverage(t *testing.T, random *rand.Rand, noise mixture, n, runs int) (out coverage) {
	x, y := make([]float64, n), make([]float64, n)
	for i := range x {
		x[i] = float64(i)
	}
	var narrow, wide []float64
	square := 0.0
	for range runs {
		noise.draw(random, y)
		l, err := Line(x, y)
		require.NoError(t, err)
		b, u := math.Abs(l.Coefficients[1]), l.StdUncertainty(1)
		factor, effective := AR1Inflation(Autocorrelation(l.Residuals), n)
		m := MemoryOf(l.Residuals, 2)
		lag1, memory := factor*u*t975(effective-2), m.Inflation*u*t975(m.DegreesOfFreedom)
		if b <= lag1 {
			out.lag1 += 1 / float64(runs)
		}
		if b <= memory {
			out.memory += 1 / float64(runs)
		}
		narrow, wide, square = append(narrow, lag1), append(wide, memory), square+b*b
	}
	known := 1.96 * math.Sqrt(square/float64(runs))
	out.lag1Width, out.memoryWidth = median(narrow)/known, median(wide)/known
	return out
}

func median(x []float64) float64 {
	slices.Sort(x)
	return x[len(x)/2]
}

func t975(dof float64) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: max(dof, 1)}.Quantile(0.975)
}

func TestMemoryOfEdgeCases(t *testing.T) {
	for name, r := range map[string][]float64{"none": nil, "zeros": make([]float64, 100), "one": {0}} {
		m := MemoryOf(r, 2)
		assert.Equal(t, 1.0, m.Inflation, name)
		assert.Equal(t, float64(len(r)), m.Effective, name)
		assert.GreaterOrEqual(t, m.DegreesOfFreedom, 1.0, name)
	}
	broken := make([]float64, 100)
	broken[50] = math.NaN()
	m := MemoryOf(broken, 2)
	assert.True(t, math.IsNaN(m.Inflation) && math.IsNaN(m.Effective), "NaN must reach the verdict")
	for i := range broken {
		broken[i] = math.Cos(math.Pi * float64(i)) // each reading against the last
	}
	m = MemoryOf(broken, 2)
	assert.Equal(t, 1.0, m.Inflation, "a negative correlation never narrows an interval")
	assert.Equal(t, 100.0, m.Effective)
}

// With as many parameters as the slow waves could serve there is no third
// estimate, and no fault.
func TestMemoryOfFewReadings(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for n := 3; n < 60; n++ {
		_, y := ar1(random, n, 0.8)
		for _, parameters := range []int{0, 1, 2, n - 1, n} {
			m := MemoryOf(y, parameters)
			factor, effective := AR1Inflation(m.Autocorrelation, n)
			assert.GreaterOrEqual(t, m.Inflation, factor)
			assert.LessOrEqual(t, m.Effective, effective)
			assert.GreaterOrEqual(t, m.DegreesOfFreedom, 1.0)
		}
	}
}

func BenchmarkAR1InflationOf3000(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	_, y := ar1(random, 3000, 0.9)
	for b.Loop() {
		AR1Inflation(Autocorrelation(y), 3000)
	}
}

func BenchmarkMemoryOf3000(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	_, y := ar1(random, 3000, 0.9)
	for b.Loop() {
		MemoryOf(y, 2)
	}
}
