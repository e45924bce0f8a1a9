package fluid

import (
	"strings"

	"holdbench/analysis/si"
)

// Liquid is one row of the table, or a user's own.
type Liquid struct {
	// Name as shown; Aliases are other names that mean it.
	Name    string
	Aliases []string
	// Family is "brake fluid", "mineral hydraulic oil", "water" or a user's
	// own word.
	Family string
	// Range is where its figures hold.
	Range Range
	// Parameters are what the figures are computed from, each with its
	// uncertainty and source, in the order that law wants.
	Parameters []Parameter
	// AirSolubility is the volume of air, at the temperature and under one
	// atmosphere, that a volume of liquid takes up per atmosphere (Ostwald).
	AirSolubility Parameter

	law law
}

// law computes a liquid's properties at a state from its parameters.
type law func(x []float64, s State) point

// point is what a liquid is at one state; SI.
type point struct {
	density, expansion, modulus, specificHeat float64
	// viscosity is kinematic; thinning is (1/μ)·dμ/dT of the dynamic one.
	viscosity, thinning float64
}

// Properties are a liquid's figures at one state.
type Properties struct {
	Density      Figure // kg/m³
	Expansion    Figure // 1/K, of volume at constant pressure
	BulkModulus  Figure // Pa, isothermal, tangent
	SpecificHeat Figure // J/(kg K), at constant pressure
	Viscosity    Figure // m²/s, kinematic, at atmospheric pressure
	// ViscosityChange is (1/μ)·dμ/dT of the dynamic viscosity, 1/K.
	ViscosityChange Figure
	// ThermalCoefficient is that of a full vessel that does not give way at
	// all, α·K in Pa/K.
	ThermalCoefficient Figure
	// AdiabaticRatio is K_S/K.
	AdiabaticRatio Figure
}

// At returns the liquid's figures at a state. The error is a *RangeError where
// the state lies outside the range for which the liquid is known.
func (l Liquid) At(s State) (Properties, error) {
	if !l.Range.holds(s) {
		return Properties{}, &RangeError{Liquid: l.Name, State: s, Range: l.Range}
	}
	of := func(q si.Quantity, f func(point) float64) Figure {
		out := figure(q, l.Parameters, "", func(x []float64) float64 { return f(l.law(x, s)) })
		out.Source = l.source(out)
		return out
	}
	return Properties{
		Density:         of(si.Density, func(p point) float64 { return p.density }),
		Expansion:       of(si.PerKelvin, func(p point) float64 { return p.expansion }),
		BulkModulus:     of(si.BulkModulus, func(p point) float64 { return p.modulus }),
		SpecificHeat:    of(si.SpecificHeat, func(p point) float64 { return p.specificHeat }),
		Viscosity:       of(si.Viscosity, func(p point) float64 { return p.viscosity }),
		ViscosityChange: of(si.PerKelvin, func(p point) float64 { return p.thinning }),
		ThermalCoefficient: of(si.ThermalCoefficient, func(p point) float64 {
			return p.expansion * p.modulus
		}),
		AdiabaticRatio: of(si.Dimensionless, func(p point) float64 { return p.adiabaticRatio(s.Temperature) }),
	}, nil
}

// source joins the sources of the parameters that matter to a figure: those
// that give at least a tenth of its uncertainty.
func (l Liquid) source(f Figure) string {
	var texts []string
	seen := map[string]bool{}
	for _, line := range f.Budget {
		if line.StdUncertainty >= f.StdUncertainty/10 && !seen[line.Note] {
			texts = append(texts, line.Note)
			seen[line.Note] = true
		}
	}
	return strings.Join(texts, "; ")
}

// means reports whether name is the liquid's, regardless of case, blanks,
// hyphens and points.
func (l Liquid) means(name string) bool {
	wanted := plain(name)
	if wanted == "" {
		return false
	}
	if plain(l.Name) == wanted {
		return true
	}
	for _, a := range l.Aliases {
		if plain(a) == wanted {
			return true
		}
	}
	return false
}

var plainer = strings.NewReplacer(" ", "", "\t", "", "\u00a0", "", "-", "", "_", "", ",", "", "(", "", ")", "")

func plain(name string) string {
	return plainer.Replace(strings.ToLower(strings.Join(strings.Fields(name), " ")))
}
