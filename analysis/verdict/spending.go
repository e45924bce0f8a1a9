package verdict

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Spending says how much of a risk may be used up when a share of the
// information is gathered, where a hold is looked at before its end.
//
// Sources:
//
//	Lan, K. K. G. and DeMets, D. L., Biometrika 70 (1983) 659: both
//	functions (mark M).
type Spending uint8

// PocockLike spends evenly, so that units far from the limit are decided
// early; OBrienFlemingLike spends late, so that the end of the hold decides
// almost as if there had been no look before.
const (
	PocockLike Spending = iota
	OBrienFlemingLike
)

// Spendings are the words of files, in the order of the constants.
var Spendings = []string{"pocock-like", "obrien-fleming-like"}

// String returns the word that files use.
func (s Spending) String() string {
	if int(s) < len(Spendings) {
		return Spendings[s]
	}
	return fmt.Sprintf("Spending(%d)", s)
}

// Spent returns how much of risk (0 < risk ≤ 0.5) may be used up at the share
// t of the information: 0 for t ≤ 0, risk for t ≥ 1, NaN for a NaN.
//
//	pocock-like:          risk·ln(1 + (e − 1)·t)
//	obrien-fleming-like:  2 − 2·Φ(z(1 − risk/2)/√t)
func (s Spending) Spent(risk, t float64) float64 {
	switch {
	case math.IsNaN(t) || !(risk > 0 && risk <= 0.5):
		return math.NaN()
	case t <= 0:
		return 0
	case t >= 1:
		return risk
	case s == OBrienFlemingLike:
		return math.Erfc(-mathext.NormalQuantile(risk/2) / math.Sqrt(2*t))
	}
	return risk * math.Log1p((math.E-1)*t)
}
