package sensor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
)

// L: a polynomial in any unit is the same correction.
func TestACurveIsTheSameInEveryUnit(t *testing.T) {
	bar := &CorrectionCurve{Coefficients: []float64{0.1, 0.999, 2e-6}, Unit: unit(t, "bar", si.Pressure), Low: 0, High: 250e5}
	pascal := &CorrectionCurve{Coefficients: []float64{0.1e5, 0.999, 2e-11}, Unit: unit(t, "Pa", si.Pressure), Low: 0, High: 250e5}
	for x := -20e5; x <= 300e5; x += 10e5 {
		assert.InDelta(t, pascal.Correct(x), bar.Correct(x), 1e-6, x)
	}
	assert.InDelta(t, 0.1e5+99.9e5+2e-6*1e4*1e5, bar.Correct(100e5), 1e-6)
	assert.True(t, math.IsNaN(bar.Correct(math.NaN())))
}

func TestOutsideItsSpanACurveKeepsTheEndsCorrection(t *testing.T) {
	c := &CorrectionCurve{Coefficients: []float64{0, 1, 1e-3}, Unit: unit(t, "bar", si.Pressure), Low: 0, High: 100e5}
	assert.InDelta(t, 110e5, c.Correct(100e5), 1e-6)
	assert.InDelta(t, 160e5, c.Correct(150e5), 1e-6, "not 172.5")
	assert.InDelta(t, -5e5, c.Correct(-5e5), 1e-6)
	assert.True(t, c.Rises())
	c.Coefficients[2] = -6e-3
	assert.False(t, c.Rises(), "turns at 83 bar")
}

func TestAChainWithACurveKeepsItsRawNumber(t *testing.T) {
	c := loop(t)
	c.Conversion = nil
	c.Unit = unit(t, "bar", si.Pressure)
	assert.False(t, c.Converted())
	c.Curve = &CorrectionCurve{Coefficients: []float64{-1, 1}, Unit: c.Unit, Low: 0, High: 250e5}
	assert.True(t, c.Converted())
}

// L: what is indicated where the corrected value is that, corrects to it.
func TestIndicatedIsTheInverseOfCorrect(t *testing.T) {
	points := []Point{{0, 0.02e5}, {125e5, 125.04e5}, {250e5, 250.05e5}}
	curve := &CorrectionCurve{Coefficients: []float64{0.1, 0.999, 2e-6}, Unit: unit(t, "bar", si.Pressure), Low: 0, High: 250e5}
	for y := -5e5; y <= 260e5; y += 3.7e5 {
		assert.InDelta(t, y, Correct(points, Indicated(points, y)), 1e-6)
		assert.InDelta(t, y, curve.Correct(curve.Indicated(y)), 1e-6)
	}
	assert.Equal(t, 7.0, Indicated(nil, 7))
}
