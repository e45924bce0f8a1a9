package fluid

import "math"

// Hose is a hose that gives way under pressure. Length and Bore (inside
// diameter) in m; Expansion is the volume per length (m³/m) by which it has
// grown at the gauge pressure At (Pa, > 0).
type Hose struct {
	Length, Bore, Expansion Parameter
	At                      float64
}

// Volume inside the hose, not under pressure, m³.
func (h Hose) Volume() float64 {
	return math.Pi / 4 * h.Bore.Value * h.Bore.Value * h.Length.Value
}

// hoseShape: the columns of [10] at 1000, 1500 and 2900 psi show hoses about
// half as soft between the columns as from 0 to the first, so a mean from 0 is
// an upper bound at a test pressure; as a factor on it.
var hoseShape = Parameter{"hose's give at the test pressure over its mean from 0", 1, 0.3,
	"a hose is stiffer the more it is stretched: 49 CFR 571.106 Table I, columns compared"}

// hoseWarmth is how much a hose's inside grows per kelvin, relative: rubber
// expands and softens, the braid does not.
var hoseWarmth = Parameter{"thermal expansion of the hose", 0, 2e-4, "no source: bound from the expansion of rubber"}

// softest are the largest expansions that 49 CFR 571.106 Table I allows a
// regular hose at 1000 psi, m³/m, by the largest bore of the class, m (mark M).
var softest = []struct{ bore, expansion float64 }{
	{3.2e-3, 0.66e-6 / 0.3048}, {5.0e-3, 0.86e-6 / 0.3048}, {math.Inf(1), 1.04e-6 / 0.3048},
}

// Plausible reports whether the hose is no softer than a brake hose may be by
// 49 CFR 571.106: a bound, since a hose for other uses may well be.
func (h Hose) Plausible() bool {
	for _, class := range softest {
		if h.Bore.Value <= class.bore {
			return h.Expansion.Value/h.At <= class.expansion/regulationPressure*(1+1e-9)
		}
	}
	return false
}

// regulationPressure is 1000 psi.
const regulationPressure = 1000 * 6894.757293168361

// RegulationHose is a metre of the softest brake hose that 49 CFR 571.106
// allows: 1/8 inch or less, regular, 0.66 cc/ft at 1000 psi (mark M). Real
// ones are stiffer.
func RegulationHose() Hose {
	const source = "49 CFR 571.106 Table I, largest allowed, from memory: real hoses are stiffer"
	return Hose{
		Length:    Parameter{"length of hose", 1, 0.005, "as stated"},
		Bore:      Parameter{"bore of hose", 3.2e-3, 0.1e-3, "1/8 inch class"},
		Expansion: Parameter{"expansion of hose", 0.66e-6 / 0.3048, 0.02e-6 / 0.3048, source},
		At:        regulationPressure,
	}
}
