package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/fit"
	"holdbench/analysis/uncertainty"
)

// The mass-point method: W = A·t + B by least squares, leak rate L = −2400·A/B
// in %/day (t in h), its standard deviation from the line's full covariance,
// and the 95 % upper confidence limit.
//
//	S_L = |L|·[S_A²/A² + S_B²/B² − 2·S_AB/(A·B)]^½    UCL = L + t(0.95; n−2)·S_L
//
// Data W_i = 100000 − 3t + 2·(−1)^i, t = i = 0 … 24 h.
//
// Source: the form of ANSI/ANS-56.8 and 10 CFR 50 appendix J (mark M); figures
// computed with an independent statistics package (mark C).
func TestMassPointByTheLinesCovariance(t *testing.T) {
	var times, mass []float64
	for i := range 25 {
		times = append(times, float64(i))
		mass = append(mass, 100000-3*float64(i)+2*math.Pow(-1, float64(i)))
	}
	l, err := fit.Line(times, mass)
	require.NoError(t, err)
	b, a := l.Coefficients[0], l.Coefficients[1]
	assert.InDelta(t, -3, a, 1e-9)
	assert.InDelta(t, 100000.08, b, 0.005)
	assert.InDelta(t, 2.0834754, l.ResidualStd, 0.5e-7)
	leak := -2400 * a / b
	assert.InDelta(t, 0.07199994, leak, 0.5e-8)
	s := l.Covariance
	u := leak * math.Sqrt(s.At(1, 1)/(a*a)+s.At(0, 0)/(b*b)-2*s.At(0, 1)/(a*b))
	assert.InDelta(t, 0.00138634, u, 0.5e-8)
	assert.InDelta(t, 0.07437596, leak+uncertainty.T(0.95, float64(l.DegreesOfFreedom))*u, 0.5e-8)

	// The same by the laws of this package: 1/τ of a line is the leak rate over
	// the mean mass instead of that at t = 0, and its noise is that of A and
	// the mean. The residuals are correlated below 0, so nothing is inflated.
	line, err := straightLine(times, mass)
	require.NoError(t, err)
	relative := line.relative(line.c, line.frame)
	assert.InDelta(t, leak*b/line.c[0], 2400*relative.value, 1e-12)
	assert.InEpsilon(t, u, 2400*line.noise(relative), 1e-3)
	assert.Equal(t, 1.0, line.inflation)
}

// The older ways, for information: they say the same less sharply. Total time:
// M_i = (2400/t_i)(1 − W_i/W_0) regressed on t, the leak rate its fitted value
// at the end, with the upper end of a prediction interval. Point to point: the
// mean of the rates between neighbouring readings.
//
//	UCL = L̂_n + t(0.975; n−2)·s·[1 + 1/n + (t_n − t̄)²/Σ(t − t̄)²]^½
//
// Source: the forms of ANSI N45.4 and BN-TOP-1 (mark M); figures computed with
// an independent statistics package (mark C).
func TestMassPointIsSharperThanTotalTimeAndPointToPoint(t *testing.T) {
	mass := func(i int) float64 { return 100000 - 3*float64(i) + 2*math.Pow(-1, float64(i)) }
	var times, total, steps []float64
	for i := 1; i <= 24; i++ {
		times = append(times, float64(i))
		total = append(total, 2400/float64(i)*(1-mass(i)/mass(0)))
		steps = append(steps, 2400*(mass(i-1)-mass(i))/mass(i-1))
	}
	l, err := fit.Line(times, total)
	require.NoError(t, err)
	at, u := l.At(24)
	assert.InDelta(t, 0.065724, at, 0.5e-6)
	ucl := at + uncertainty.T(0.975, float64(l.DegreesOfFreedom))*math.Hypot(u, l.ResidualStd)
	assert.InDelta(t, 0.106286, ucl, 0.5e-6)

	middle := mean(steps)
	_, square := aboutMean(steps)
	s := math.Sqrt(square / 23)
	assert.InDelta(t, 0.072022, middle, 1e-6)
	assert.InDelta(t, 0.0981, s, 0.5e-4)
	assert.InDelta(t, 0.0200, s/math.Sqrt(24), 0.5e-4)
	assert.Greater(t, s/math.Sqrt(24), 10*0.00138634)
}

// The quantile of Student's distribution that the mass-point method prints as
// a formula, against the exact one.
//
// Source: the form of ANSI/ANS-56.8 (mark M): agrees within 7e-5 from 6
// readings on (mark C).
func TestPrintedQuantileIsStudents(t *testing.T) {
	printed := func(d float64) float64 { return (1.6449*d*d + 3.5283*d + 0.85602) / (d*d + 1.2209*d - 1.5162) }
	assert.InDelta(t, 1.713859, printed(23), 0.5e-6)
	assert.InDelta(t, 1.713872, uncertainty.T(0.95, 23), 0.5e-6)
	for d := 4.0; d < 200; d++ {
		assert.InDelta(t, uncertainty.T(0.95, d), printed(d), 7e-5)
	}
}
