// Package uncertainty knows what every reported number of holdbench is: an
// estimate with its standard uncertainty, degrees of freedom and budget.
//
// Sources:
//
//	[1] JCGM 100:2008, Evaluation of measurement data (GUM).
//	[2] JCGM 101:2008, Propagation of distributions using a Monte Carlo method
//	    (mark M where clauses are named).
package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"holdbench/analysis/si"
)

// Estimate is a value with its standard uncertainty (k = 1), both in the SI
// unit of Quantity, and its degrees of freedom (+Inf when the standard
// uncertainty is taken as exactly known).
type Estimate struct {
	Value            float64
	StdUncertainty   float64
	DegreesOfFreedom float64
	Quantity         si.Quantity
}

// T returns Student's t quantile for probability p (0 < p < 1) and the given
// degrees of freedom (> 0, +Inf for the normal distribution). NaN degrees of
// freedom or values not above 0 give NaN, which every comparison treats as
// "cannot tell".
//
// Source: [1] annex G, table G.2 gives the two-sided values.
func T(p, dof float64) float64 {
	switch {
	case math.IsNaN(p) || math.IsNaN(dof) || dof <= 0 || p <= 0 || p >= 1:
		return math.NaN()
	case math.IsInf(dof, 1) || dof > 1e7:
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(p)
}

// Interval returns the two-sided coverage interval of the given level (e.g.
// 0.95): Value ∓ t·u, in the estimate's unit.
//
// Source: [1] 6.2 and G.3.
func (e Estimate) Interval(level float64) (low, high float64) {
	if e.StdUncertainty == 0 {
		return e.Value, e.Value
	}
	k := T((1+level)/2, e.DegreesOfFreedom)
	return e.Value - k*e.StdUncertainty, e.Value + k*e.StdUncertainty
}

// Expanded returns the half-width of the interval of that level.
func (e Estimate) Expanded(level float64) float64 {
	if e.StdUncertainty == 0 {
		return 0
	}
	return T((1+level)/2, e.DegreesOfFreedom) * e.StdUncertainty
}

// Line is one line of an uncertainty budget.
type Line struct {
	// Source names what the line stands for: "noise", "thermal coefficient",
	// "temperature reading", "transducer gain", …
	Source string
	// StdUncertainty is the line's contribution |c_i|·u(x_i), in the SI unit
	// of the result (≥ 0).
	StdUncertainty float64
	// DegreesOfFreedom of u(x_i); +Inf when taken as exactly known.
	DegreesOfFreedom float64
	// Note says in words where the figure comes from.
	Note string
}

// Budget lists uncorrelated contributions to one result.
type Budget []Line

// Combined returns the combined standard uncertainty and its effective
// degrees of freedom.
//
// Source: [1] eq. 11a (c_i·u_i summed in squares) and eq. G.2b
// (Welch–Satterthwaite). An empty or all-zero budget gives (0, +Inf); lines of
// 0 do not count, whatever their degrees of freedom.
func (b Budget) Combined() (u, dof float64) {
	var sum2, sum4 float64
	for _, l := range b {
		sum2 += l.StdUncertainty * l.StdUncertainty
	}
	if sum2 == 0 {
		return 0, math.Inf(1)
	}
	for _, l := range b {
		share := l.StdUncertainty * l.StdUncertainty / sum2
		if share != 0 && !math.IsInf(l.DegreesOfFreedom, 1) {
			sum4 += share * share / l.DegreesOfFreedom
		}
	}
	if sum4 == 0 {
		return math.Sqrt(sum2), math.Inf(1)
	}
	return math.Sqrt(sum2), 1 / sum4
}

// Largest returns the line that contributes most; ok is false for an empty
// budget.
func (b Budget) Largest() (largest Line, ok bool) {
	for _, l := range b {
		if !ok || l.StdUncertainty > largest.StdUncertainty {
			largest, ok = l, true
		}
	}
	return largest, ok
}
