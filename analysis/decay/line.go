package decay

import (
	"math"

	"holdbench/analysis/fit"
	"holdbench/analysis/uncertainty"
)

// line is the straight line through the compensated pressure of a hold. Times
// are counted from t0.
type line struct {
	lin fit.Linear
	// rho, inflation and effective: autocorrelation of the residuals, the
	// factor on the noise part, the number of independent readings.
	rho, inflation, effective float64
	// slope holds the weights with which readings make the slope, Σ w = 0.
	slope []float64
	// meanTime of the readings.
	meanTime float64
	// noise is the standard uncertainty of the slope from noise, dof its
	// degrees of freedom.
	noise, dof float64
}

// straightLine fits a line by least squares. len(t) == len(p) ≥ 3; errors as
// fit.Line.
func straightLine(t, p []float64) (*line, error) {
	lin, err := fit.Line(t, p)
	if err != nil {
		return nil, err
	}
	l := &line{lin: lin, rho: fit.Autocorrelation(lin.Residuals)}
	l.inflation, l.effective = fit.AR1Inflation(l.rho, len(t))
	l.dof = max(l.effective-2, 1)
	l.noise = inflated(lin.StdUncertainty(1), l.inflation)
	l.slope, l.meanTime = slopeWeights(t)
	return l, nil
}

// inflated carries the standard uncertainty of a mean or a slope from
// independent noise to autocorrelated noise.
func inflated(u, inflation float64) float64 {
	u *= inflation
	return u
}

// level returns the line at a time since t0, and the noise part of its
// standard uncertainty.
func (l *line) level(t float64) (value, u float64) {
	value, u = l.lin.At(t)
	return value, inflated(u, l.inflation)
}

// levelWeights are the weights with which readings make level(t), Σ g = 1.
func (l *line) levelWeights(t float64) []float64 {
	g := make([]float64, len(l.slope))
	for i, w := range l.slope {
		g[i] = 1/float64(len(g)) + (t-l.meanTime)*w
	}
	return g
}

// slopeWeights returns w with Σ w_i·y_i the least squares slope of y over t.
//
// Source: [1] H.3.2, eq. H.13b rearranged.
func slopeWeights(t []float64) (w []float64, mean float64) {
	for _, v := range t {
		mean += v
	}
	mean /= float64(len(t))
	w = make([]float64, len(t))
	var square float64
	for i, v := range t {
		w[i] = v - mean
		square += w[i] * w[i]
	}
	for i := range w {
		w[i] /= square
	}
	return w, mean
}

// bend is the quadratic term beside a line.
type bend struct {
	// value c of c·P2(t), Pa/s², above 0 for a loss that slows; noise is its
	// standard uncertainty, dof its degrees of freedom.
	value, noise, dof float64
	// weights with which readings make the value, Σ w = 0.
	weights []float64
}

// curvature fits a quadratic beside a line whose residuals are given, with
// the noise of its own residuals, inflated as the line's is. ok is false
// under 6 readings.
func curvature(t, residuals []float64) (b bend, ok bool) {
	n := len(t)
	if n < 6 {
		return bend{}, false
	}
	half := (t[n-1] - t[0]) / 2
	x := make([]float64, n)
	for i := range x {
		x[i] = (t[i] - t[0] - half) / half
	}
	basis, values := orthogonal(x, 2)
	p2 := values[2]
	scale := basis.norm[2]
	if !(scale > 0) {
		return bend{}, false
	}
	var c float64
	for i, r := range residuals {
		c += p2[i] * r / scale
	}
	rest := make([]float64, n)
	b.weights = make([]float64, n)
	for i, r := range residuals {
		rest[i] = r - c*p2[i]
		b.weights[i] = p2[i] / scale / (half * half)
	}
	inflation, effective := fit.AR1Inflation(fit.Autocorrelation(rest), n)
	b.value = c / (half * half)
	b.noise = inflated(rms(rest, n-3)/math.Sqrt(scale)/(half*half), inflation)
	b.dof = max(effective-3, 1)
	return b, true
}

// curvatureLevel is the chance with which a straight loss is called one that
// still settles.
const curvatureLevel = 0.01

// significant returns the curvature over its standard uncertainty, in which
// systematic terms have their part, with its degrees of freedom, and whether
// it is that of a loss that slows.
func (b bend) significant(systematic float64) (t, dof float64, slows bool) {
	u, dof := uncertainty.Budget{
		{StdUncertainty: b.noise, DegreesOfFreedom: b.dof},
		{StdUncertainty: systematic, DegreesOfFreedom: math.Inf(1)},
	}.Combined()
	if u == 0 {
		return math.NaN(), dof, false
	}
	t = b.value / u
	return t, dof, t > 0 && t > uncertainty.T(1-curvatureLevel, dof)
}
