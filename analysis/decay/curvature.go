package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"holdbench/analysis/fit"
	"holdbench/analysis/uncertainty"
)

// bend is the quadratic term beside a law of decay.
type bend struct {
	// value c of c·P2(t), Pa/s², above 0 for a loss that slows by more than
	// the law says; noise is its standard uncertainty, dof its degrees of
	// freedom.
	value, noise, dof float64
	// weights with which readings make the value.
	weights []float64
}

// curvature fits a quadratic beside a law, with the noise of its own
// residuals, inflated as the law's is; where a freer curve was taken (nil:
// none), with the noise that this leaves: what neither a law nor a quadratic can
// follow is no noise. ok is false under 6 readings, or where
// the law leaves no room for it.
//
// Source: what two laws fitted together leave of the one, freed of the other:
// Frisch, R. and Waugh, F. V., Econometrica 1 (1933) 387 (mark M).
func curvature(t []float64, l *law, free *instead) (b bend, ok bool) {
	n := len(t)
	if n < 6 {
		return bend{}, false
	}
	half := (t[n-1] - t[0]) / 2
	x := make([]float64, n)
	for i := range x {
		x[i] = (t[i] - t[0] - half) / half
	}
	_, values := orthogonal(x, 2)
	q := l.freed(values[2])
	var scale, c float64
	for i, v := range q {
		scale += v * v
		c += v * l.residuals[i]
	}
	if !(scale > leastLeft*float64(n)) {
		return bend{}, false
	}
	c /= scale
	rest := make([]float64, n)
	b.weights = make([]float64, n)
	for i, v := range q {
		rest[i] = l.residuals[i] - c*v
		b.weights[i] = v / scale / (half * half)
	}
	own := fit.MemoryOf(rest, 3)
	std, inflation, dof := rms(rest, n-3), own.Inflation, own.DegreesOfFreedom
	if free != nil {
		std, inflation, dof = free.std, free.inflation, free.dof
	}
	b.value = c / (half * half)
	b.noise = inflated(std/math.Sqrt(scale)/(half*half), inflation)
	b.dof = dof
	return b, true
}

// leastLeft is the mean square of P2, some 0.09 over even times, below which
// it is taken to be the law itself.
const leastLeft = 1e-9

// freed returns y without what the law's own parameters can make of it.
func (l *law) freed(y []float64) []float64 {
	out := append([]float64(nil), y...)
	l.free(out)
	return out
}

// free is freed in place.
func (l *law) free(y []float64) {
	var k vector
	for j, s := range l.slopes {
		k[j] = floats.Dot(s, y)
	}
	k = l.turned(function{by: k})
	for j, s := range l.slopes {
		floats.AddScaled(y, -k[j], s)
	}
}

// curvatureLevel is the chance with which a loss that follows its law is
// called one that still settles.
const curvatureLevel = 0.01

// significant returns the curvature over its standard uncertainty, in which
// systematic terms have their part, with its degrees of freedom, and whether
// it is that of a loss that slows by more than its law says.
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
