package uncertainty

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
)

// gumH1 is the end gauge of JCGM 100:2008, H.1, table H.1: |c_i|·u(x_i) in nm
// and degrees of freedom. Mark V.
var gumH1 = Budget{
	{Source: "calibration of standard", StdUncertainty: 25, DegreesOfFreedom: 18},
	{Source: "repeated observations", StdUncertainty: 5.8, DegreesOfFreedom: 24},
	{Source: "random effects of comparator", StdUncertainty: 3.9, DegreesOfFreedom: 5},
	{Source: "systematic effects of comparator", StdUncertainty: 6.7, DegreesOfFreedom: 8},
	{Source: "difference of expansion coefficients", StdUncertainty: 2.9, DegreesOfFreedom: 50},
	{Source: "difference of temperatures", StdUncertainty: 16.6, DegreesOfFreedom: 2},
}

func TestCombinedAgreesWithGUMH1(t *testing.T) {
	u, dof := gumH1.Combined()
	// Printed: u_c = 32 nm (H.1.3.5), ν_eff = 16.7, cut to 16 (H.1.6); mark V.
	// From the unrounded components 31.671 and 16.76; mark C. The components
	// above are rounded to two or three digits, hence 1 %.
	assert.InDelta(t, 32, u, 0.5, "V")
	assert.InEpsilon(t, 31.671, u, 0.001, "C")
	assert.InEpsilon(t, 16.7, dof, 0.01, "V")
	assert.InEpsilon(t, 16.76, dof, 0.01, "C")

	// H.1.6: U99 = t99(16)·u_c = 2.92 × 32 nm = 93 nm, u_c rounded first; V.
	assert.InDelta(t, 2.92, T(0.995, math.Floor(dof)), 0.005)
	e := Estimate{Value: 50_000_838, StdUncertainty: 32, DegreesOfFreedom: math.Floor(dof)}
	assert.InDelta(t, 93, e.Expanded(0.99), 0.5)
	low, high := e.Interval(0.99)
	assert.InDelta(t, 50_000_838-93, low, 0.5)
	assert.InDelta(t, 50_000_838+93, high, 0.5)

	largest, ok := gumH1.Largest()
	assert.True(t, ok)
	assert.Equal(t, "calibration of standard", largest.Source)
}

// Two-sided t factors. Source: JCGM 100:2008, table G.2. Mark M: from memory
// of the table; t99(16) alone is V (H.1.6).
func TestTAgreesWithGUMTableG2(t *testing.T) {
	for _, row := range []struct{ dof, p, want, half float64 }{
		{1, .90, 6.31, .005}, {1, .95, 12.71, .005}, {1, .99, 63.66, .005},
		{2, .95, 4.30, .005}, {2, .99, 9.92, .005},
		{3, .95, 3.18, .005}, {3, .99, 5.84, .005},
		{5, .95, 2.57, .005}, {5, .99, 4.03, .005},
		{10, .6827, 1.05, .005}, {10, .90, 1.81, .005}, {10, .95, 2.23, .005}, {10, .9545, 2.28, .005}, {10, .99, 3.17, .005}, {10, .9973, 3.96, .005},
		{16, .95, 2.12, .005}, {16, .99, 2.92, .005},
		{20, .95, 2.09, .005}, {20, .99, 2.85, .005},
		{50, .95, 2.01, .005}, {50, .99, 2.68, .005},
		{math.Inf(1), .6827, 1.000, .0005}, {math.Inf(1), .90, 1.645, .0005}, {math.Inf(1), .95, 1.960, .0005},
		{math.Inf(1), .9545, 2.000, .0005}, {math.Inf(1), .99, 2.576, .0005}, {math.Inf(1), .9973, 3.000, .0005},
	} {
		assert.InDelta(t, row.want, T((1+row.p)/2, row.dof), row.half, "ν %g, %g %%", row.dof, 100*row.p)
	}
	// Computed with an independent statistics package, mark C.
	assert.InDelta(t, 2.0687, T(0.975, 23), 5e-5)
	assert.InDelta(t, 1.71387, T(0.95, 23), 5e-6)
}

func TestTIsSymmetricAndFallsWithDegreesOfFreedom(t *testing.T) {
	last := math.Inf(1)
	for _, dof := range []float64{0.5, 1, 1.65, 3, 16.76, 238, 1e4, 1e8, math.Inf(1)} {
		q := T(0.95, dof)
		assert.InDelta(t, -q, T(0.05, dof), 1e-9*q)
		assert.LessOrEqual(t, q, last, "ν %g", dof)
		last = q
	}
}

func TestWhatSaysNothingIsNaN(t *testing.T) {
	nan := math.NaN()
	for _, c := range [][2]float64{{0.95, nan}, {0.95, 0}, {0.95, -1}, {nan, 5}, {0, 5}, {1, 5}} {
		assert.True(t, math.IsNaN(T(c[0], c[1])), "T(%g, %g)", c[0], c[1])
	}
	low, high := Estimate{Value: 1, StdUncertainty: 1, DegreesOfFreedom: -0.4, Quantity: si.PressureRate}.Interval(0.95)
	assert.True(t, math.IsNaN(low) && math.IsNaN(high))
	low, high = Estimate{Value: 1, StdUncertainty: nan, DegreesOfFreedom: 5}.Interval(0.95)
	assert.True(t, math.IsNaN(low) && math.IsNaN(high))
	u, _ := Budget{{StdUncertainty: nan, DegreesOfFreedom: 3}}.Combined()
	assert.True(t, math.IsNaN(u))
	_, dof := Budget{{StdUncertainty: 1, DegreesOfFreedom: nan}}.Combined()
	assert.True(t, math.IsNaN(dof))
}

func TestExactEstimateIsItsInterval(t *testing.T) {
	e := Estimate{Value: 5, DegreesOfFreedom: math.Inf(1)}
	low, high := e.Interval(0.95)
	assert.Equal(t, []float64{5, 5, 0}, []float64{low, high, e.Expanded(0.95)})
}

func TestBudgetOfNothing(t *testing.T) {
	for name, b := range map[string]Budget{
		"no lines":   nil,
		"zero lines": {{StdUncertainty: 0, DegreesOfFreedom: 3}},
	} {
		u, dof := b.Combined()
		assert.Zero(t, u, name)
		assert.True(t, math.IsInf(dof, 1), name)
	}
	_, ok := Budget(nil).Largest()
	assert.False(t, ok)
}

// Laws: a line of 0 changes nothing, not even when nothing is known of it; one
// line alone keeps its degrees of freedom; exactly known lines leave them
// infinite; the result is never known better than the sum of its parts.
func TestCombinedLaws(t *testing.T) {
	u, dof := gumH1.Combined()
	for _, nothing := range []float64{0, math.NaN(), 7, math.Inf(1)} {
		u2, dof2 := append(gumH1[:len(gumH1):len(gumH1)], Line{DegreesOfFreedom: nothing}).Combined()
		assert.Equal(t, []float64{u, dof}, []float64{u2, dof2})
	}
	for _, l := range gumH1 {
		u, dof := Budget{l}.Combined()
		assert.InEpsilon(t, l.StdUncertainty, u, 1e-15)
		assert.InEpsilon(t, l.DegreesOfFreedom, dof, 1e-15)
	}
	var sum float64
	for _, l := range gumH1 {
		sum += l.DegreesOfFreedom
	}
	assert.LessOrEqual(t, dof, sum)
	assert.GreaterOrEqual(t, dof, 2.0, "the smallest of the parts")
	u, dof = Budget{{StdUncertainty: 3, DegreesOfFreedom: math.Inf(1)}, {StdUncertainty: 4, DegreesOfFreedom: math.Inf(1)}}.Combined()
	assert.Equal(t, 5.0, u)
	assert.True(t, math.IsInf(dof, 1))
}
