package verdict

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// AtLook returns the limit as one of several looks at a growing hold holds an
// estimate against it: with the chances of PASS and of FAIL that belong to
// this look's boundaries (see Level) in place of the stated risks. 0 is no
// such verdict at this look, NaN no verdict at all.
func (l Limit) AtLook(pass, fail float64) Limit {
	l.RiskPass, l.RiskFail = atLeastNever(pass), atLeastNever(fail)
	return l
}

// never is a risk that no look can use up, and not 0, which means the default.
const never = leastSpent / 2

func atLeastNever(level float64) float64 { return math.Max(level, never) }

// Level is the chance with which a standard normal lies at or above a
// boundary: 0 for +Inf, NaN for NaN. The guarded rule at this risk puts the
// boundary at the same tail probability of Student's distribution where an
// uncertainty has few degrees of freedom.
//
// Source: Jennison, C. and Turnbull, B. W., Group Sequential Methods, 2000,
// 4.4: significance levels at the looks, for an unknown variance (mark M).
func Level(boundary float64) float64 { return distuv.UnitNormal.Survival(boundary) }

// Risks returns the risks of a guarded limit as they hold where none is
// stated.
func (l Limit) Risks() (pass, fail float64) { return risk(l.RiskPass), risk(l.RiskFail) }
