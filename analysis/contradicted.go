package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// contradictedRisk is the chance of calling a thermal coefficient contradicted
// that is right. The house's own (mark P).
const contradictedRisk = 0.001

// coefficientContradicted turns a hold away whose own pressure follows the
// temperature otherwise than the stated thermal coefficient says: either that
// is wrong, or the probe does not feel the liquid, and what was compensated by
// it says nothing, however small its uncertainty looks.
//
//	|B_hold − B| > t(1 − risk/2)·√(u²_hold + u²)
//
// Source: comparison of two independent estimates, JCGM 100:2008, 5.1.2 and
// G.6.4 (mark C). A hold in which temperature and time cannot be told apart
// says nothing of the coefficient, and nothing is contradicted.
func coefficientContradicted(h Hold, d decay.Diagnostics) finding {
	known := h.Characterised.ThermalCoefficient
	if known == nil || !(d.OwnCoefficientU > 0) {
		return finding{}
	}
	apart := math.Abs(d.OwnCoefficient - known.Value)
	_, dof := uncertainty.Budget{
		{StdUncertainty: d.OwnCoefficientU, DegreesOfFreedom: d.OwnCoefficientDOF},
		{StdUncertainty: known.StdUncertainty, DegreesOfFreedom: known.DegreesOfFreedom},
	}.Combined()
	doubt := math.Hypot(d.OwnCoefficientU, known.StdUncertainty)
	if apart <= uncertainty.T(1-contradictedRisk/2, dof)*doubt {
		return finding{}
	}
	return finding{
		reason: fmt.Sprintf("the hold contradicts the stated thermal coefficient: its pressure follows the temperature by %s (standard uncertainty %s), stated is %s (standard uncertainty %s)",
			withDoubt(d.OwnCoefficient, d.OwnCoefficientU, si.ThermalCoefficient), fine(d.OwnCoefficientU, si.ThermalCoefficient),
			withDoubt(known.Value, known.StdUncertainty, si.ThermalCoefficient), fine(known.StdUncertainty, si.ThermalCoefficient)),
		advice: "see that the probe feels the liquid, look at the thermal coefficient's characterisation, and repeat",
	}
}

// withDoubt writes an SI value in its display unit with the decimals of its
// standard uncertainty.
func withDoubt(x, u float64, q si.Quantity) string {
	unit := si.DefaultDisplay.Unit(q)
	decimals := si.Decimals(u / unit.Factor)
	if !(u > 0) {
		decimals = si.Decimals(math.Abs(unit.FromSI(x)))
	}
	return si.Format(unit.FromSI(x), decimals) + " " + unit.Symbol
}
