package fluid

import (
	"math"
	"slices"
)

// Table is the one list of liquids: every row has its file, its sources and
// its uncertainties.
func Table() []Liquid {
	return slices.Concat(brakeFluids(), oils(), waterLiquids)
}

// Lookup finds a liquid by name or alias, regardless of case, blanks and
// hyphens.
func Lookup(name string) (Liquid, bool) {
	for _, l := range Table() {
		if l.means(name) {
			return l, true
		}
	}
	return Liquid{}, false
}

// Given is a user's own liquid: each Value with its standard uncertainty U > 0
// (SI) and Source.
type Given struct {
	Name string
	// Range is where the figures hold.
	Range Range
	// Reference is the temperature (K) of the figures below, at one
	// atmosphere.
	Reference                                     float64
	Density, Expansion, BulkModulus, SpecificHeat Parameter
	// Viscosities, kinematic (m²/s), at two temperatures (K).
	Temperatures [2]float64
	Viscosities  [2]Parameter
}

const sourceTypical = "typical of organic liquids, from memory: the figure is not stated for this liquid"

// FromFigures makes a liquid of a user's own figures. How the bulk modulus
// changes with temperature and pressure is taken as typical, with a wide
// uncertainty, and so is the solubility of air.
func FromFigures(g Given) Liquid {
	named := func(p Parameter, name string) Parameter {
		p.Name = name
		return p
	}
	return Liquid{
		Name: g.Name, Family: "own liquid", Range: g.Range,
		Parameters: []Parameter{
			plainDensity:    named(g.Density, "density"),
			plainExpansion:  named(g.Expansion, "thermal expansion"),
			plainModulus:    named(g.BulkModulus, "bulk modulus"),
			plainSoftening:  {"fall of the bulk modulus with temperature", 0.0060, 0.0030, sourceTypical},
			plainStiffening: {"rise of the bulk modulus with pressure", 9.5, 2, sourceTypical},
			plainHeat:       named(g.SpecificHeat, "specific heat"),
			plainViscosity1: named(g.Viscosities[0], "first viscosity"),
			plainViscosity2: named(g.Viscosities[1], "second viscosity"),
			plainLaw:        {"law of viscosity", 1, 0.05, "two points joined after ASTM D341"},
		},
		AirSolubility: Parameter{"air solubility", 0.08, 0.03, sourceTypical},
		law:           plainLiquid(g.Reference, g.Temperatures[0], g.Temperatures[1]),
	}
}

// SaturationPressure is the pressure (Pa absolute) above which a liquid can
// dissolve a share of free air (by volume at one atmosphere, beside what is
// dissolved already at one atmosphere), given time:
//
//	p_sat = p0·(1 + x/S)
//
// It takes minutes to hours, and the pressure falls meanwhile as from a leak.
// NaN for a solubility that is not above 0.
//
// Source: Henry's and Dalton's laws (mark M).
func SaturationPressure(share, solubility float64) float64 {
	if !(solubility > 0) {
		return math.NaN()
	}
	return Atmosphere * (1 + share/solubility)
}
