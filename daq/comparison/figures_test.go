package comparison

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
)

const bar = 1e5

func unit(t require.TestingT, q si.Quantity) si.Unit {
	u, err := si.ParseUnit("bar", q)
	require.NoError(t, err)
	return u
}

func options(t require.TestingT, fit Fit) Options {
	return Options{Fit: fit, Unit: unit(t, si.Pressure), Change: unit(t, si.PressureChange), Resolution: 0.012 * bar}
}

// taken is a comparison of two cycles whose deviations, in bar, are given by
// cycle, direction and point (0, 50 and 100 bar).
func taken(deviations [2][2][3]float64) (readings []Reading) {
	for cycle, directions := range deviations {
		for d, row := range directions {
			for i, e := range row {
				nominal := 50 * bar * float64(i)
				readings = append(readings, Reading{Stop: Stop{Cycle: cycle + 1, Up: d == 0, Nominal: nominal}, Reference: nominal, ReferenceU: 0.01 * bar,
					Indicated: nominal + e*bar, AsFound: nominal + e*bar/2, N: 10})
			}
		}
	}
	return readings
}

// Computed by hand from [2]'s definitions (mark O) and JCGM 100:2008, 4.3.7.
func TestFiguresOfAComparison(t *testing.T) {
	readings := taken([2][2][3]float64{
		{{0.10, 0.20, 0.40}, {0.12, 0.30, 0.40}},
		{{0.12, 0.22, 0.42}, {0.12, 0.30, 0.42}},
	})
	f, err := Evaluate(readings, options(t, ByPoints))
	require.NoError(t, err)
	require.Len(t, f.Points, 3)
	assert.InDelta(t, 50.255*bar, f.Points[1].Indicated, 1)
	assert.InDelta(t, 0.1275*bar, f.Points[1].AsFound, 1)
	assert.InDelta(t, 0, f.Points[1].AsLeft, 1)
	assert.InDelta(t, 0.09*bar, f.Points[1].Hysteresis, 1e-6*bar, "mean of 0.10 and 0.08")
	assert.InDelta(t, 0.09*bar, f.Hysteresis, 1e-6*bar)
	// Pairs that differ by 0.02 four times and by 0 twice: sum of squares
	// 4·0.02²/2 over six degrees of freedom.
	assert.InDelta(t, math.Sqrt(4*0.0002/6)*bar, f.Repeatability, 1e-6*bar)
	assert.InDelta(t, 0, f.Residual, 1)
	assert.InDelta(t, 0.21*bar, f.AsFound, 1)
	u := math.Sqrt(0.01*0.01+4*0.0002/6+0.09*0.09/12+0.012*0.012/12) * bar
	assert.InDelta(t, u, f.U, 1)
	assert.Greater(t, f.DOF, 6.0)
	assert.Greater(t, f.Stated, f.U, "few degrees of freedom are paid for")
	assert.Less(t, f.Stated, 1.1*f.U)
	// Means 0.115, 0.255 and 0.410 bar: a third of their second difference.
	assert.InDelta(t, 0.005*bar, f.Linearity, 3)
}

func TestOneCycleHasNoRepeatability(t *testing.T) {
	f, err := Evaluate(taken([2][2][3]float64{{{0, 0.1, 0}, {0, 0.2, 0}}})[:6], options(t, ByPoints))
	require.NoError(t, err)
	assert.True(t, math.IsNaN(f.Repeatability))
	for _, l := range f.Budget {
		assert.NotEqual(t, "repeatability", l.Source)
	}
	assert.False(t, math.IsNaN(f.U))
}

// L: a polynomial that was put in comes out, and its residuals vanish.
func TestAPolynomialIsFound(t *testing.T) {
	var readings []Reading
	for _, s := range Plan(Even(0, 200*bar, 6), 2) {
		x := s.Nominal / bar
		readings = append(readings, Reading{Stop: s, Indicated: s.Nominal, AsFound: s.Nominal, Reference: (0.2 + 0.998*x + 1e-5*x*x) * bar})
	}
	f, err := Evaluate(readings, options(t, ByQuadratic))
	require.NoError(t, err)
	for i, want := range []float64{0.2, 0.998, 1e-5} {
		assert.InDelta(t, want, f.Curve.Coefficients[i], 1e-9)
	}
	assert.InDelta(t, 0, f.Residual, 1e-3)
	line, err := Evaluate(readings, options(t, ByLine))
	require.NoError(t, err)
	assert.InDelta(t, line.Linearity, line.Residual, 1e-9)
	assert.Greater(t, line.Residual, 0.03*bar)
}

func TestWhatCannotBeEvaluated(t *testing.T) {
	good := taken([2][2][3]float64{})
	_, err := Evaluate(good, options(t, ByQuadratic))
	assert.ErrorIs(t, err, ErrFewPoints)
	_, err = Evaluate(nil, options(t, ByPoints))
	assert.ErrorIs(t, err, ErrFewPoints)
	flat := taken([2][2][3]float64{{{0, -50, -99}, {0, -50, -99}}, {{0, -50, -99}, {0, -50, -99}}})
	_, err = Evaluate(flat, options(t, ByPoints))
	assert.ErrorIs(t, err, ErrNotRising)
	good[3].Indicated = math.NaN()
	_, err = Evaluate(good, options(t, ByPoints))
	assert.Error(t, err, "a stop without readings")
}

// What Words writes, ParseWords reads to the last digit, and nothing else.
func TestWordsComeBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := Stop{Cycle: rapid.IntRange(1, 9).Draw(rt, "cycle"), Up: rapid.Bool().Draw(rt, "up"), Nominal: rapid.Float64Range(-1e6, 1e9).Draw(rt, "nominal")}
		reference, u := rapid.Float64Range(-1e6, 1e9).Draw(rt, "reference"), rapid.Float64Range(0, 1e6).Draw(rt, "u")
		gotS, gotReference, gotU, err := ParseWords(Words(s, reference, u))
		require.NoError(rt, err)
		require.Equal(rt, s, gotS)
		require.Equal(rt, reference, gotReference)
		require.Equal(rt, u, gotU)
	})
	for _, text := range []string{"", "cycle 1 up", "cycle 0 up to 1: reference 1 ± 1", "cycle 1 sideways to 1: reference 1 ± 1", "cycle 1 up to NaN: reference 1 ± 1", "cycle 1 up to 1: reference 1 ± -1"} {
		_, _, _, err := ParseWords(text)
		require.ErrorIs(t, err, ErrWords, text)
	}
}

// The block is what a bench file takes, and corrects as the figures do.
func TestTheBlockIsReadAsItWasMeant(t *testing.T) {
	day := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	for _, fit := range []Fit{ByPoints, ByLine} {
		f, err := Evaluate(taken([2][2][3]float64{{{0.1, 0.2, 0.4}, {0.1, 0.3, 0.4}}, {{0.1, 0.2, 0.4}, {0.1, 0.3, 0.4}}}), options(t, fit))
		require.NoError(t, err)
		text := f.Block(Certificate{Channel: "trapped", Number: `own "7"`, Date: day, Due: day.AddDate(1, 0, 0), Reference: "dead-weight tester R-7", By: "Ada", Temperature: 296.15, Made: "Made by a test."})
		b := &bench.Bench{Channels: []bench.Channel{{Name: "trapped", Quantity: si.Pressure}}}
		_, err = b.Recalibrate("own.toml", []byte(text))
		require.NoError(t, err, text)
		c := b.Channels[0].Calibration
		assert.Equal(t, `own "7"`, c.Certificate)
		assert.Equal(t, "2027-11-25", c.Due.Format(time.DateOnly))
		assert.Contains(t, c.Laboratory, NotAccredited)
		assert.InDelta(t, 296.15, c.Temperature, 0.05)
		assert.GreaterOrEqual(t, c.U, f.Stated)
		assert.Less(t, c.U, 1.1*f.Stated)
		for x := -10 * bar; x < 120*bar; x += 7 * bar {
			assert.InDelta(t, f.Correct(x), c.Correct(x), 0.01, "%v", x)
		}
	}
}
