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

// RegulationHose is a metre of the softest brake hose that 49 CFR 571.106
// allows: 1/8 inch or less, regular, 0.66 cc/ft at 1000 psi (mark M). Real
// ones are stiffer.
func RegulationHose() Hose {
	const source = "49 CFR 571.106 Table I, largest allowed, from memory: real hoses are stiffer"
	return Hose{
		Length:    Parameter{"length of hose", 1, 0.005, "as stated"},
		Bore:      Parameter{"bore of hose", 3.2e-3, 0.1e-3, "1/8 inch class"},
		Expansion: Parameter{"expansion of hose", 0.66e-6 / 0.3048, 0.02e-6 / 0.3048, source},
		At:        1000 * 6894.757293168361,
	}
}
