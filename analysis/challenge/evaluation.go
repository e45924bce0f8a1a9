package challenge

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"holdbench/analysis/uncertainty"
)

// risk is the one-sided risk of the form's threshold and smallest detectable
// leak.
const risk = 0.05

// ErrFewRuns says that a scatter cannot be told from so few runs.
var ErrFewRuns = errors.New("challenge: a bias and a scatter need at least 2 runs")

// ErrNoScatter says that all differences are the same to the last digit, as
// they are when one recording is counted twice: chances cannot be told.
var ErrNoScatter = errors.New("challenge: the differences are all the same, and say nothing of scatter")

// ErrNotFinite says that a difference, threshold or limit is no number.
var ErrNotFinite = errors.New("challenge: a figure is not finite")

// Evaluation is what n runs with known leaks say of a bench. All but N, TBias,
// TCritical and the chances are in the unit of the differences.
type Evaluation struct {
	N int
	// Bias is the mean of the differences, SD their standard deviation.
	Bias, SD float64
	// TBias is √n·Bias/SD, against ±TCritical, the two-sided 95 % point for
	// n − 1 degrees of freedom; Significant says that it lies beyond.
	TBias, TCritical float64
	Significant      bool
	// Threshold C above which an estimate counts as an alarm, and Limit R, the
	// leak that is to be detected.
	Threshold, Limit float64
	// PFalseAlarm is the chance of an alarm without a leak, PDetection that at
	// the limit; the bias is left in both.
	PFalseAlarm, PDetection float64
	// Threshold5 is the threshold at which 5 % of tight units alarm,
	// Detectable95 the smallest leak that is then detected in 95 %.
	Threshold5, Detectable95 float64
	// SDUpper is the upper 95 % bound of the standard deviation, no part of
	// the form.
	SDUpper float64
}

// Evaluate evaluates differences (measured less expected) against a threshold
// and a limit. Errors: ErrFewRuns, ErrNoScatter, ErrNotFinite.
func Evaluate(differences []float64, threshold, limit float64) (Evaluation, error) {
	n := len(differences)
	if n < 2 {
		return Evaluation{}, ErrFewRuns
	}
	var mean, square float64
	for _, d := range differences {
		mean += d / float64(n)
	}
	for _, d := range differences {
		square += (d - mean) * (d - mean)
	}
	if square == 0 {
		return Evaluation{}, ErrNoScatter
	}
	return FromMoments(n, mean, math.Sqrt(square/float64(n-1)), threshold, limit)
}

// FromMoments is Evaluate for differences of which only number, mean and
// standard deviation are known.
//
//	t_B = √n·B/SD                       P_FA = P{T(n−1) > (C − B)/SD}
//	C_5% = B + t(0.95; n−1)·SD          P_D  = P{T(n−1) > (C − R − B)/SD}
//	R_95% = 2·t(0.95; n−1)·SD
//
// Source: [1] (mark M).
func FromMoments(n int, bias, sd, threshold, limit float64) (Evaluation, error) {
	if n < 2 {
		return Evaluation{}, ErrFewRuns
	}
	for _, x := range []float64{bias, sd, threshold, limit} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return Evaluation{}, ErrNotFinite
		}
	}
	dof := float64(n - 1)
	e := Evaluation{N: n, Bias: bias, SD: sd, Threshold: threshold, Limit: limit}
	e.TBias = math.Sqrt(float64(n)) * bias / sd
	if bias == 0 {
		e.TBias = 0
	}
	e.TCritical = uncertainty.T(0.975, dof)
	e.Significant = math.Abs(e.TBias) > e.TCritical
	e.PFalseAlarm = above((threshold-bias)/sd, dof)
	e.PDetection = above((threshold-limit-bias)/sd, dof)
	t := uncertainty.T(1-risk, dof)
	e.Threshold5, e.Detectable95 = bias+t*sd, 2*t*sd
	e.SDUpper = sd * SDUpperFactor(n, 0.95)
	return e, nil
}

// above is P{T > t}. A scatter of 0 makes t infinite, or no number where the
// difference is 0 too: then it is even.
func above(t, dof float64) float64 {
	switch {
	case math.IsInf(t, 1):
		return 0
	case math.IsInf(t, -1):
		return 1
	case math.IsNaN(t):
		return 0.5
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Survival(t)
}

// SDUpperFactor returns by how much the upper one-sided bound of a standard
// deviation from n values lies above it, √((n−1)/χ²(1−confidence; n−1)).
// n ≥ 2, 0 < confidence < 1; otherwise NaN.
//
// Source: law of the variance of normal values (mark L).
func SDUpperFactor(n int, confidence float64) float64 {
	if n < 2 || !(confidence > 0 && confidence < 1) {
		return math.NaN()
	}
	dof := float64(n - 1)
	return math.Sqrt(dof / distuv.ChiSquared{K: dof}.Quantile(1-confidence))
}
