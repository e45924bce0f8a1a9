package uncertainty

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

const (
	trials = 400_000
	seed   = 2008
)

// near holds a figure of a sample to one that is known: off by no more than
// the rounding of the printed figure and four standard deviations of the
// sample's own.
func near(t *testing.T, printed, half, own, got float64, what string) {
	t.Helper()
	assert.InDelta(t, printed, got, half+4*own, what)
}

func sum(x []float64) (s float64) {
	for _, v := range x {
		s += v
	}
	return s
}

// JCGM 101:2008, 9.2.2 to 9.2.4: Y = X1 + X2 + X3 + X4. Figures from memory,
// mark M, the exact half-width 3.8794 and the GUM's recomputed, mark C.
func TestJCGM101AdditiveModel(t *testing.T) {
	normal, flat := Normal(0, 1), Rectangular(-math.Sqrt(3), math.Sqrt(3))
	for _, row := range []struct {
		name        string
		inputs      []Input
		u, end, own float64
	}{
		{"9.2.2 normal", []Input{normal, normal, normal, normal}, 2.00, 3.92, 0.03},
		{"9.2.3 rectangular", []Input{flat, flat, flat, flat}, 2.00, 3.88, 0.02},
		{"9.2.4 one ten times as wide", []Input{flat, flat, flat, Rectangular(-10*math.Sqrt(3), 10*math.Sqrt(3))}, 10.1, 17.0, 0.05},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := Propagate(seed, trials, sum, row.inputs...)
			near(t, row.u, 0.05, row.u/math.Sqrt(2*trials), s.StdUncertainty(), "M u")
			near(t, 0, 0, row.u/math.Sqrt(trials), s.Mean(), "M mean")
			low, high := s.Symmetric(0.95)
			assert.InDelta(t, row.end, high, 0.005+row.own, "M")
			assert.InDelta(t, -row.end, low, 0.005+row.own, "M")
			from, to := s.Shortest(0.95)
			assert.LessOrEqual(t, to-from, high-low+1e-12)
			assert.Greater(t, to-from, 0.98*(high-low), "a symmetric distribution has hardly a shorter one")
		})
	}
	s := Propagate(seed, trials, sum, flat, flat, flat, flat)
	low, high := s.Symmetric(0.95)
	assert.InDelta(t, 3.8794, (high-low)/2, 0.012, "C")
}

// JCGM 101:2008, 9.3: mass calibration, deviation from nominal in mg. Printed
// figures from memory, mark M: u 0.075, shortest [1.0834, 1.3825], recomputed
// with four million trials, mark C. The GUM's own terms of first order say
// 0.0539, because the model has a product of two that vanish at their means.
func TestJCGM101MassCalibration(t *testing.T) {
	mass := func(x []float64) float64 {
		rc, dm, air, weight, reference := x[0], x[1], x[2], x[3], x[4]
		return (rc+dm)*(1+(air-1.2)*(1/weight-1/reference)) - 100_000
	}
	s := Propagate(seed, trials, mass,
		Normal(100_000, 0.050), Normal(1.234, 0.020), Rectangular(1.10, 1.30), Rectangular(7000, 9000), Rectangular(7950, 8050))
	assert.InDelta(t, 1.2341, s.Mean(), 5e-4, "C")
	assert.InDelta(t, 0.0754, s.StdUncertainty(), 3e-4, "M C")
	low, high := s.Shortest(0.95)
	assert.InDelta(t, 1.0834, low, 2e-3, "M C")
	assert.InDelta(t, 1.3825, high, 2e-3, "M C")

	x := []float64{100_000, 1.234, 1.2, 8000, 8000}
	u := []float64{0.050, 0.020, 0.1 / math.Sqrt(3), 1000 / math.Sqrt(3), 50 / math.Sqrt(3)}
	assert.InDelta(t, 0.0539, math.Sqrt(Correlated(mat.NewDense(1, 5, Sensitivities(mass, x, u)), Covariance(u, mat5())).At(0, 0)), 5e-5, "M C")
}

func mat5() [][]float64 {
	none := make([]float64, 5)
	return [][]float64{none, none, none, none, none}
}

// JCGM 101:2008, 9.4: comparison loss Y = X1² + X2² with u 0.005, in 1e-6:
// estimate and standard uncertainty at x1 = 0, 0.010, 0.050. Mark M, mean and
// u also from the moments of a squared normal number, mark C.
func TestJCGM101ComparisonLoss(t *testing.T) {
	squares := func(x []float64) float64 { return x[0]*x[0] + x[1]*x[1] }
	const u = 0.005
	for _, row := range []struct{ x1, mean, u, gum, gumU float64 }{
		{0, 50, 50, 0, 0}, {0.010, 150, 112, 100, 100}, {0.050, 2550, 502, 2500, 500},
	} {
		s := Propagate(seed, trials, squares, Normal(row.x1, u), Normal(0, u))
		near(t, row.mean, 0.5, row.u/math.Sqrt(trials), 1e6*s.Mean(), "M mean")
		near(t, row.u, 0.5, row.u/math.Sqrt(trials), 1e6*s.StdUncertainty(), "M u")
		assert.InEpsilon(t, row.x1*row.x1+2*u*u, s.Mean(), 0.01, "C")
		low, _ := s.Shortest(0.95)
		assert.GreaterOrEqual(t, low, 0.0, "a square is never below 0")
		x := []float64{row.x1, 0}
		c := Sensitivities(squares, x, []float64{u, u})
		assert.InDelta(t, row.gum, 1e6*squares(x), 1e-9, "M")
		assert.InDelta(t, row.gumU, 1e6*u*math.Hypot(c[0], c[1]), 1e-6, "M")
	}
	// With the two correlated 0.9 at x1 = 0 the mean stays, 50e-6, and u grows
	// to 67e-6: u⁴·(2 + 2 + 2·2·0.81) from the moments, mark C.
	v := Covariance([]float64{u, u}, [][]float64{{1, 0.9}, {0.9, 1}})
	s := Propagate(seed, trials, squares, CorrelatedNormal([]float64{0, 0}, v))
	near(t, 50, 0.5, 67/math.Sqrt(trials), 1e6*s.Mean(), "C")
	assert.InDelta(t, 1e6*u*u*math.Sqrt(4+4*0.81), 1e6*s.StdUncertainty(), 0.6, "C")
}

// JCGM 101:2008, 9.5: end gauge, its length over 50 mm in nm at 99 %, with
// arcs and trapezia of doubtful ends. Mark M: 838, u 36, [745, 932].
func TestJCGM101EndGauge(t *testing.T) {
	// A rectangle whose ends are known to ± d each.
	doubtful := func(a, b, d float64) Input {
		return Of(func(r *rand.Rand) float64 {
			from := a - d + 2*d*r.Float64()
			return from + (a+b-2*from)*r.Float64()
		})
	}
	arc := Of(func(r *rand.Rand) float64 { return 0.5 * math.Sin(2*math.Pi*r.Float64()) })
	length := func(x []float64) float64 {
		standard, d, alpha, theta, cycle, dAlpha, dTheta := x[0], x[1]+x[2]+x[3], x[4], x[5], x[6], x[7], x[8]
		return standard + d - standard*(dAlpha*(theta+cycle)+alpha*dTheta) - 50e6
	}
	s := Propagate(seed, trials, length,
		TScaled(50_000_623, 25, 18), TScaled(215, 6, 24), TScaled(0, 4, 5), TScaled(0, 7, 8),
		Rectangular(9.5e-6, 13.5e-6), Normal(-0.1, 0.2), arc, doubtful(-1e-6, 1e-6, 0.1e-6), doubtful(-0.050, 0.050, 0.025))
	assert.InDelta(t, 838, s.Mean(), 0.75, "M")
	assert.InDelta(t, 36, s.StdUncertainty(), 0.75, "M")
	low, high := s.Symmetric(0.99)
	assert.InDelta(t, 745, low, 1.5, "M")
	assert.InDelta(t, 932, high, 1.5, "M")
}

// Laws of the distributions: mean and standard deviation by their formulas.
func TestInputsHaveTheirMoments(t *testing.T) {
	for name, row := range map[string]struct {
		in      Input
		mean, u float64
	}{
		"normal":             {Normal(3, 2), 3, 2},
		"t with 10":          {TScaled(1, 2, 10), 1, 2 * math.Sqrt(10.0/8)},
		"t with a half more": {TScaled(0, 1, 6.5), 0, math.Sqrt(6.5 / 4.5)},
		"t with infinitely":  {TScaled(1, 2, math.Inf(1)), 1, 2},
		"rectangular":        {Rectangular(-1, 5), 2, 3 / math.Sqrt(3)},
		"triangular":         {Triangular(-1, 5), 2, 3 / math.Sqrt(6)},
	} {
		s := Propagate(1, trials, sum, row.in)
		assert.InDelta(t, row.mean, s.Mean(), 5*row.u/math.Sqrt(trials), name)
		assert.InEpsilon(t, row.u, s.StdUncertainty(), 0.012, name)
	}
}

func TestCorrelatedNormalHasItsCovariance(t *testing.T) {
	want := Covariance([]float64{1, 2, 3}, [][]float64{{1, 0.5, -0.3}, {0.5, 1, 0.2}, {-0.3, 0.2, 1}})
	in := CorrelatedNormal([]float64{1, 2, 3}, want)
	r := rand.New(rand.NewPCG(7, 7))
	drawn := mat.NewDense(100_000, 3, nil)
	for i := range 100_000 {
		in.draw(r, drawn.RawRowView(i))
	}
	var got mat.SymDense
	stat.CovarianceMatrix(&got, drawn, nil)
	for i := range 3 {
		for j := range 3 {
			assert.InDelta(t, want.At(i, j), got.At(i, j), 0.05*math.Sqrt(want.At(i, i)*want.At(j, j)))
		}
	}
	assert.Panics(t, func() {
		CorrelatedNormal([]float64{0, 0}, Covariance([]float64{1, 1}, [][]float64{{1, 2}, {2, 1}}))
	})
}

func TestSampleIsTheSameForTheSameSeed(t *testing.T) {
	draw := func(seed uint64) float64 { return Propagate(seed, 10, sum, Normal(0, 1), Rectangular(0, 1)).Mean() }
	assert.Equal(t, draw(3), draw(3))
	assert.NotEqual(t, draw(3), draw(4))
}

func TestIntervalsOfSamples(t *testing.T) {
	values := make([]float64, 1000)
	for i := range values {
		values[i] = float64(i + 1)
	}
	low, high := NewSample(values).Symmetric(0.95)
	assert.Equal(t, []float64{25, 975}, []float64{low, high}, "7.7.2: y_r and y_(r+q) with q = 950, r = 25")
	// Skewed: the shortest begins at its low end.
	for i := range values {
		values[i] = -math.Log(1 - (float64(i)+0.5)/1000)
	}
	low, high = NewSample(values).Shortest(0.95)
	assert.Equal(t, values[0], low)
	assert.InDelta(t, -math.Log(0.05), high, 0.02)
	for _, level := range []float64{0, 1, 0.99999, math.NaN()} {
		low, high = NewSample([]float64{1, 2, 3}).Symmetric(level)
		require.True(t, math.IsNaN(low) && math.IsNaN(high), "level %g", level)
		low, high = NewSample([]float64{1, 2, 3}).Shortest(level)
		require.True(t, math.IsNaN(low) && math.IsNaN(high), "level %g", level)
	}
}
