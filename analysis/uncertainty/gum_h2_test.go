package uncertainty

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// Simultaneous measurement of resistance and reactance, JCGM 100:2008, H.2:
// five sets of voltage, current and phase (table H.2), results and
// correlations (tables H.3, H.4). Mark V, correlations of the results too.
func TestCorrelatedInputsAgreeWithGUMH2(t *testing.T) {
	read := mat.NewDense(5, 3, []float64{
		5.007, 19.663e-3, 1.0456,
		4.994, 19.639e-3, 1.0438,
		5.005, 19.640e-3, 1.0468,
		4.990, 19.685e-3, 1.0428,
		4.999, 19.678e-3, 1.0433,
	})
	var v mat.SymDense
	stat.CovarianceMatrix(&v, read, nil)
	v.ScaleSym(1.0/5, &v) // of the means

	x := []float64{stat.Mean(mat.Col(nil, 0, read), nil), stat.Mean(mat.Col(nil, 1, read), nil), stat.Mean(mat.Col(nil, 2, read), nil)}
	u, r := Correlations(&v)
	assert.InDeltaSlice(t, []float64{4.9990, 19.6610e-3, 1.04446}, x, 1e-9)
	assert.InDelta(t, 0.0032094, u[0], 5e-8, "V")
	assert.InDelta(t, 0.0094710e-3, u[1], 5e-11, "V")
	assert.InDelta(t, 0.00075206, u[2], 5e-9, "V")
	assert.InDelta(t, -0.355, r.At(0, 1), 5e-4, "V")
	assert.InDelta(t, 0.858, r.At(0, 2), 5e-4, "V")
	assert.InDelta(t, -0.645, r.At(1, 2), 5e-4, "V")

	results := []func(x []float64) float64{
		func(x []float64) float64 { return x[0] / x[1] * math.Cos(x[2]) },
		func(x []float64) float64 { return x[0] / x[1] * math.Sin(x[2]) },
		func(x []float64) float64 { return x[0] / x[1] },
	}
	c := mat.NewDense(3, 3, nil)
	for i, f := range results {
		c.SetRow(i, Sensitivities(f, x, u))
	}
	u, r = Correlations(Correlated(c, &v))
	// Printed 0.071, 0.295 and 0.236 with rounded correlations; from unrounded
	// ones 0.07107, 0.29558 and 0.23634 (another program, mark C).
	for i, row := range []struct{ value, printed, u float64 }{
		{127.732, 0.071, 0.0710714}, {219.847, 0.2955, 0.2955817}, {254.260, 0.236, 0.2363361},
	} {
		assert.InDelta(t, row.value, results[i](x), 5e-4, "V")
		assert.InDelta(t, row.printed, u[i], 5e-4, "V")
		assert.InDelta(t, row.u, u[i], 1e-7, "C")
	}
	assert.InDelta(t, -0.588, r.At(0, 1), 5e-4, "V")
	assert.InDelta(t, -0.485, r.At(0, 2), 5e-4, "V")
	assert.InDelta(t, 0.993, r.At(1, 2), 5e-4, "V")

	// The same matrix from standard uncertainties and correlations.
	input, inputR := Correlations(&v)
	rows := make([][]float64, 3)
	for i := range rows {
		rows[i] = mat.Row(nil, i, inputR)
	}
	again := Covariance(input, rows)
	assert.True(t, mat.EqualApprox(&v, again, 1e-15))
}

func TestSensitivitiesOfWhatIsKnownExactlyAreZero(t *testing.T) {
	c := Sensitivities(func(x []float64) float64 { return 3*x[0] - 2*x[1] }, []float64{1, 1}, []float64{0.5, 0})
	assert.Equal(t, []float64{3, 0}, c)
}
