package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// Calibration of a thermometer: reading t_k in °C and correction b_k in °C.
//
// Source: JCGM 100:2008, H.3, table H.6, mark V. The results are printed to
// fewer digits there; more of them computed with an independent statistics
// package, mark C.
var (
	gumH3T = []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	gumH3B = []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
)

const gumH3T0 = 20 // °C

func gumH3Line(t *testing.T, t0 float64) Linear {
	t.Helper()
	x := make([]float64, len(gumH3T))
	for i, v := range gumH3T {
		x[i] = v - t0
	}
	l, err := Line(x, gumH3B)
	require.NoError(t, err)
	return l
}

func TestLineAgreesWithGUMH3(t *testing.T) {
	l := gumH3Line(t, gumH3T0)
	for _, row := range []struct {
		name            string
		got, want, half float64 // half the last digit of want
		src             string
	}{
		{"y1", l.Coefficients[0], -0.1712038, 5e-8, "V+C H.3.4"},
		{"s(y1)", l.StdUncertainty(0), 0.0028776, 5e-8, "V+C H.3.4"},
		{"y2", l.Coefficients[1], 0.00218270, 5e-9, "V+C H.3.4"},
		{"s(y2)", l.StdUncertainty(1), 0.00066794, 5e-9, "V+C H.3.4"},
		{"r(y1,y2)", l.Correlation(0, 1), -0.930430, 5e-7, "V+C H.3.4"},
		{"s", l.ResidualStd, 0.0034976, 5e-8, "V+C H.3.4"},
		{"Σr²", sumOfSquares(l.Residuals), 1.10096583e-4, 5e-13, "C"},
	} {
		assert.InDelta(t, row.want, row.got, row.half, "%s (%s)", row.name, row.src)
	}
	assert.Equal(t, 9, l.DegreesOfFreedom, "H.3.4: n − 2")
}

func TestPredictionAgreesWithGUMH3(t *testing.T) {
	l := gumH3Line(t, gumH3T0)
	// V+C H.3.4, eq. H.15: b(30 °C) = −0.1493768 °C, u = 0.0041386 °C.
	value, u := l.Predict([]float64{1, 30 - gumH3T0})
	assert.InDelta(t, -0.1493768, value, 5e-8)
	assert.InDelta(t, 0.0041386, u, 5e-8)
	value, u = l.At(30 - gumH3T0)
	assert.InDelta(t, -0.1493768, value, 5e-8)
	assert.InDelta(t, 0.0041386, u, 5e-8)
}

func TestLineAndLeastSquaresAgreeOnGUMH3(t *testing.T) {
	l := gumH3Line(t, gumH3T0)
	x := mat.NewDense(len(gumH3T), 2, nil)
	for i, v := range gumH3T {
		x.SetRow(i, []float64{1, v - gumH3T0})
	}
	g, err := LeastSquares(x, gumH3B)
	require.NoError(t, err)
	for i := range 2 {
		assert.InEpsilon(t, g.Coefficients[i], l.Coefficients[i], 1e-12)
		for j := range 2 {
			assert.InEpsilon(t, g.Covariance.At(i, j), l.Covariance.At(i, j), 1e-11)
		}
	}
	assert.InDeltaSlice(t, g.Residuals, l.Residuals, 1e-15)
}

// H.3.5: with t0 at the mean, level and slope are uncorrelated.
func TestLineIsUncorrelatedAboutMeanAsInGUMH35(t *testing.T) {
	l := gumH3Line(t, 24.0085) // the mean printed in H.3.5, V
	assert.InDelta(t, 0, l.Correlation(0, 1), 1e-4)
	// "y1 = −0.1625(11), y2 = 0.00218(67)", V
	assert.InDelta(t, -0.1625, l.Coefficients[0], 5e-5)
	assert.InDelta(t, 0.0011, l.StdUncertainty(0), 5e-5)
	assert.False(t, math.IsNaN(l.Correlation(0, 1)))
}
