// Package challenge knows how a bench is held to known leaks: whether one run
// with an imposed leak found it, and what many such runs say of bias, scatter,
// false alarms and detections. It knows nothing of recordings or limits' rules.
//
// Conventions: one quantity throughout (a rate or a flow) in one unit; a leak
// is positive; a difference is measured less what was to be expected (the
// unit's own leak and the imposed one). Everything reported here is evaluated
// after the statistical form of EPA/530/UST-90/004; it is no certificate, and
// no authority has seen it.
//
// Sources:
//
//	[1] EPA/530/UST-90/004, Standard Test Procedures for Evaluating Leak
//	    Detection Methods: Volumetric Tank Tightness Testing Methods, March
//	    1990 (form mark M; figures in the tests mark C).
//	[2] ANSI/ANS-56.8, Containment System Leakage Testing Requirements, the
//	    verification test with an imposed leak (mark M).
//	[3] Clopper, C. J. and Pearson, E. S., Biometrika 26 (1934) 404: exact
//	    limits of a binomial proportion (mark M).
//
// Caveats: [1] judges by one threshold, which a guarded limit is not; the
// chances of false alarm and detection are those of that threshold. They take
// the differences as normal and the scatter as the same for tight and leaking
// units.
package challenge

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// Share is by how much of the limit a measured leak may differ from what was
// to be expected.
//
// Source: [2], a quarter of the limit.
const Share = 0.25

// Outcome is what a challenge says of the bench.
type Outcome uint8

// The outcomes.
const (
	Unknown Outcome = iota // it cannot be told
	Passed
	Failed
)

// String returns the outcome in words.
func (o Outcome) String() string {
	switch o {
	case Passed:
		return "passed"
	case Failed:
		return "failed"
	}
	return "cannot tell"
}

// Comparison is one challenge: what was measured against what was imposed.
type Comparison struct {
	// Measured with the leak imposed; Own is the unit's without it, Imposed
	// the known leak.
	Measured, Own, Imposed uncertainty.Estimate
	// Limit of the quantity.
	Limit float64
}

// Expected is what the bench was to find.
func (c Comparison) Expected() uncertainty.Estimate {
	return sum(c.Own, c.Imposed, 1)
}

// Difference is measured less expected, with the standard uncertainty of all
// three.
func (c Comparison) Difference() uncertainty.Estimate { return sum(c.Measured, c.Expected(), -1) }

// Allowed is the largest difference with which the challenge is passed.
func (c Comparison) Allowed() float64 { return Share * c.Limit }

// Outcome compares; what is no number is Unknown.
//
//	|measured − (own + imposed)| ≤ 0.25·limit
//
// Source: [2].
func (c Comparison) Outcome() Outcome {
	d, allowed := math.Abs(c.Difference().Value), c.Allowed()
	switch {
	case !(allowed > 0) || math.IsInf(allowed, 1):
		return Unknown
	case d <= allowed:
		return Passed
	case d > allowed:
		return Failed
	}
	return Unknown
}

// Sharp reports whether the difference is known well enough for the outcome
// to say something: its expanded uncertainty (95 %) is within what is allowed.
func (c Comparison) Sharp() bool { return c.Difference().Expanded(0.95) <= c.Allowed() }

func sum(a, b uncertainty.Estimate, sign float64) uncertainty.Estimate {
	u, dof := uncertainty.Budget{
		{StdUncertainty: a.StdUncertainty, DegreesOfFreedom: a.DegreesOfFreedom},
		{StdUncertainty: b.StdUncertainty, DegreesOfFreedom: b.DegreesOfFreedom},
	}.Combined()
	return uncertainty.Estimate{Value: a.Value + sign*b.Value, StdUncertainty: u, DegreesOfFreedom: dof, Quantity: a.Quantity}
}
