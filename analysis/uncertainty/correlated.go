package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Correlated carries the covariance of inputs to that of results that depend
// on them: C·V·Cᵀ, where row i of the sensitivities C holds ∂y_i/∂x_j. C has
// as many columns as V.
//
// Source: [1] eq. 13 on the diagonal, H.2.3 (eq. H.9) off it.
func Correlated(sensitivities mat.Matrix, covariance mat.Symmetric) *mat.SymDense {
	var half, full mat.Dense
	half.Mul(sensitivities, covariance)
	full.Mul(&half, sensitivities.T())
	rows, _ := full.Dims()
	out := mat.NewSymDense(rows, nil)
	for i := range rows {
		for j := i; j < rows; j++ {
			out.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2)
		}
	}
	return out
}

// Covariance makes a covariance matrix of standard uncertainties and
// correlations, len(correlation) == len(u) == n of rows of n; only what stands
// above the diagonal is looked at.
//
// Source: [1] eq. 14.
func Covariance(u []float64, correlation [][]float64) *mat.SymDense {
	v := mat.NewSymDense(len(u), nil)
	for i := range u {
		v.SetSym(i, i, u[i]*u[i])
		for j := i + 1; j < len(u); j++ {
			v.SetSym(i, j, correlation[i][j]*u[i]*u[j])
		}
	}
	return v
}

// Correlations returns standard uncertainties and correlations of a covariance
// matrix.
//
// Source: [1] eq. 14.
func Correlations(v mat.Symmetric) (u []float64, correlation *mat.SymDense) {
	n := v.SymmetricDim()
	u, correlation = make([]float64, n), mat.NewSymDense(n, nil)
	for i := range u {
		u[i] = math.Sqrt(v.At(i, i))
	}
	for i := range u {
		for j := i; j < n; j++ {
			correlation.SetSym(i, j, v.At(i, j)/(u[i]*u[j]))
		}
	}
	return u, correlation
}

// Sensitivities returns ∂f/∂x_i at x, each from half the difference of the
// results at x_i ± u_i; 0 where u_i is 0.
//
// Source: [1] 5.1.3 note 2.
func Sensitivities(f func(x []float64) float64, x, u []float64) []float64 {
	out, at := make([]float64, len(x)), append([]float64(nil), x...)
	for i := range x {
		if u[i] == 0 {
			continue
		}
		at[i] = x[i] + u[i]
		above := f(at)
		at[i] = x[i] - u[i]
		out[i] = (above - f(at)) / (2 * u[i])
		at[i] = x[i]
	}
	return out
}
