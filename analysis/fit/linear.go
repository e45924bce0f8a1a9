// Package fit knows least squares as mathematics: straight lines, linear
// models, nonlinear ones whole (Nonlinear) or with their linear parameters
// apart (Separable), their covariance, and what autocorrelated residuals do to
// it. It knows nothing of pressure, temperature or limits.
//
// Conventions: a model is y = X·c + noise; one row of X is one observation.
// The noise is taken as independent and of one unknown size; where it is
// autocorrelated, AR1Inflation says by how much the standard uncertainties
// are too small. Inputs are never changed.
//
// Sources:
//
//	[1] JCGM 100:2008 (GUM), H.3: straight line with full covariance.
//	[2] Björck, Å., Numerical Methods for Least Squares Problems, SIAM 1996,
//	    2.9: iterative refinement of the augmented system (mark M).
//	[3] Marriott, F. H. C. and Pope, J. A., Biometrika 41 (1954) 390: bias of
//	    an autocorrelation (mark M).
//	[4] Ogita, T., Rump, S. M. and Oishi, S., SIAM J. Sci. Comput. 26 (2005)
//	    1955: accurate sum and dot product (mark M).
//	[5] NIST Statistical Reference Datasets (StRD): what the tests hold this to.
//	[6] Zhang, N. F., Metrologia 43 (2006): uncertainty of the mean of
//	    autocorrelated measurements (mark M).
//	[7] Moré, J. J., The Levenberg-Marquardt algorithm: implementation and
//	    theory, Lecture Notes in Mathematics 630 (1978) 105 (mark M).
//	[8] Bates, D. M. and Watts, D. G., A relative offset orthogonality
//	    convergence criterion for nonlinear least squares, Technometrics 23
//	    (1981) 179 (mark M).
//	[9] Golub, G. H. and Pereyra, V., The differentiation of pseudo-inverses and
//	    nonlinear least squares problems whose variables separate, SIAM J.
//	    Numer. Anal. 10 (1973) 413 (mark M).
//	[10] Kaufman, L., A variable projection method for solving separable
//	    nonlinear least squares problems, BIT 15 (1975) 49 (mark M).
//	[11] Press, W. H. et al., Numerical Recipes, 3rd ed., 2007 (mark M).
//	[12] Transtrum, M. K. and Sethna, J. P., Improvements to the
//	    Levenberg-Marquardt algorithm for nonlinear least-squares
//	    minimization, arXiv:1201.5885 (2012) (mark M).
//	[13] Burnham, K. P. and Anderson, D. R., Model Selection and Multimodel
//	    Inference, 2nd ed., Springer 2002; Hurvich, C. M. and Tsai, C.-L.,
//	    Biometrika 76 (1989) 297 (mark M).
package fit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// What can keep data from being fitted.
var (
	// ErrTooFew: no more observations than coefficients, so that nothing is
	// left to tell the noise by.
	ErrTooFew = errors.New("fit: too few observations")
	// ErrRank: the columns (or the times of a line) do not differ enough to
	// tell the coefficients apart.
	ErrRank = errors.New("fit: coefficients cannot be told apart")
	// ErrNotFinite: a NaN or an infinity among the data.
	ErrNotFinite = errors.New("fit: data not finite")
)

// Linear is a fitted linear model.
type Linear struct {
	// Coefficients c, one for each column; of a line y = c0 + c1·t.
	Coefficients []float64
	// Covariance of the coefficients, ResidualStd²·(XᵀX)⁻¹.
	Covariance *mat.SymDense
	// ResidualStd is s = √(Σr²/ν), in the unit of y.
	ResidualStd float64
	// DegreesOfFreedom ν = observations − coefficients, > 0.
	DegreesOfFreedom int
	// Residuals r = y − X·c, in the order of the data.
	Residuals []float64

	// centre is the point about which a line was computed; nil for LeastSquares.
	centre *centre
}

// centre is where a line's level and slope are uncorrelated.
type centre struct {
	t, y   float64
	spread float64 // Σ(t−t̄)²
}

// StdUncertainty returns the standard uncertainty of coefficient i. It panics
// if there is none.
func (l Linear) StdUncertainty(i int) float64 { return math.Sqrt(l.Covariance.At(i, i)) }

// Correlation returns the correlation coefficient of coefficients i and j. It
// panics if there is none of them; it is NaN where an uncertainty is 0.
func (l Linear) Correlation(i, j int) float64 {
	return l.Covariance.At(i, j) / (l.StdUncertainty(i) * l.StdUncertainty(j))
}

// Predict returns the model at one row of X and its standard uncertainty,
// which is that of the fitted value, without the noise of a new observation.
// It panics if len(row) is not the number of coefficients.
//
// Source: [1] H.3.4, eq. H.15 for a line.
func (l Linear) Predict(row []float64) (value, u float64) {
	if len(row) != len(l.Coefficients) {
		panic("fit: a row needs one number for each coefficient")
	}
	v := mat.NewVecDense(len(row), row)
	return mat.Dot(v, mat.NewVecDense(len(row), l.Coefficients)), math.Sqrt(mat.Inner(v, l.Covariance, v))
}

// At returns a line at t and its standard uncertainty, like Predict with the
// row (1, t), but about the centre of the data, so that it keeps its digits
// however far from zero the times lie. It panics if l does not come from Line
// or BlockMeans.
//
// Source: [1] H.3.5, with t0 at the centre, where the coefficients are
// uncorrelated.
func (l Linear) At(t float64) (value, u float64) {
	if l.centre == nil {
		panic("fit: At needs a straight line")
	}
	dt := t - l.centre.t
	n := float64(len(l.Residuals))
	return l.centre.y + l.Coefficients[1]*dt, l.ResidualStd * math.Sqrt(1/n+dt*dt/l.centre.spread)
}
