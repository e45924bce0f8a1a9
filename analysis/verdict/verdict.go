// Package verdict knows limits and how an estimate with its uncertainty is
// held against them: PASS, FAIL or INCONCLUSIVE, and by which bound.
//
// Sources:
//
//	[1] JCGM 106:2012, The role of measurement uncertainty in conformity
//	    assessment.
package verdict

// Verdict is the answer to "does this unit hold?". The zero value is
// Inconclusive, so that a forgotten assignment never passes a unit.
type Verdict uint8

// The three verdicts.
const (
	Inconclusive Verdict = iota
	Pass
	Fail
)

// String returns PASS, FAIL or INCONCLUSIVE, the words of every screen, page
// and file.
func (v Verdict) String() string {
	switch v {
	case Pass:
		return "PASS"
	case Fail:
		return "FAIL"
	}
	return "INCONCLUSIVE"
}

// Overall joins verdicts: FAIL before INCONCLUSIVE before PASS. No verdicts at
// all are Inconclusive.
func Overall(all ...Verdict) Verdict {
	if len(all) == 0 {
		return Inconclusive
	}
	out := Pass
	for _, v := range all {
		switch {
		case v == Fail:
			return Fail
		case v != Pass:
			out = Inconclusive
		}
	}
	return out
}

// Bound says on which side of the limit a unit conforms.
type Bound uint8

// A limit is the largest allowed value (Max) or the smallest (Min).
const (
	Max Bound = iota
	Min
)

// String returns "max" or "min".
func (b Bound) String() string {
	if b == Min {
		return "min"
	}
	return "max"
}

// Rule is how uncertainty enters the decision.
type Rule uint8

// Guarded keeps a guard band on both sides of the limit. Simple compares the
// value itself, and only where the expanded uncertainty is at most UMax.
const (
	Guarded Rule = iota
	Simple
)

// String returns "guarded" or "simple".
func (r Rule) String() string {
	if r == Simple {
		return "simple"
	}
	return "guarded"
}

// Limit is one requirement of a procedure.
type Limit struct {
	// Quantity is a row of Quantities, e.g. "decay_rate".
	Quantity string
	Bound    Bound
	// Value is the limit in the quantity's SI unit.
	Value float64
	Rule  Rule
	// RiskPass and RiskFail are the largest chances of that verdict for a
	// unit exactly at the limit, 0 < risk ≤ 0.5.
	RiskPass, RiskFail float64
	// UMax is the largest expanded uncertainty (95 %) with which the simple
	// rule may decide, in the quantity's SI unit; 0 when not stated.
	UMax float64
	// After is the time after t0 for pressure_after, in s; 0 otherwise.
	After float64
	// Source says who set the limit.
	Source string
	// Written is the limit as the user wrote it, e.g. "0.5 bar/min".
	Written string
}
