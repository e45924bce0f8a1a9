// Package fluid knows liquids and what holds them: density, expansion, bulk
// modulus, specific heat and viscosity; free air in the liquid; tubes, hoses
// and bodies that give way; and from these what a trapped volume's pressure
// does when it warms, loses liquid or was just pumped up. It knows nothing of
// readings, fits or verdicts, nor of the bench file.
//
// Conventions: SI throughout; pressures are absolute and say so (PressureAbs);
// temperatures in K. A bulk modulus is the isothermal tangent one unless the
// name says otherwise. A standard uncertainty has k = 1; of a range in which
// publications put a figure, half its width over √3 (rectangular, [1] 4.3.7),
// rounded up. Uncertainties of one liquid's parameters are taken as
// uncorrelated.
//
// Every figure is an estimate with a budget, line by line, in which each
// parameter stands with its own source. Figures of brake fluids and oils are
// typical ones: their uncertainty is wide because publications disagree, and a
// characterisation on the bench beats them.
//
// Sources:
//
//	[1] JCGM 100:2008 (GUM): 4.3.7, 5.1.3 note 2.
//	[2] Kell, G. S., J. Chem. Eng. Data 20 (1975) 97: density and
//	    compressibility of water at one atmosphere (mark M: coefficients from
//	    memory; they give IAPWS-95 within 12 ppm and 0.02 %, mark C).
//	[3] IAPWS R6-95(2018): water. Slopes with pressure and specific heat are
//	    fitted to its figures (mark C).
//	[4] IAPWS SR6-08(2011): viscosity of water at 0.1 MPa (mark M).
//	[5] ASTM D341 (Walther's equation): viscosity by temperature (mark M).
//	[6] ISO 3448: viscosity classes of industrial oils (mark M).
//	[7] 49 CFR 571.116 (FMVSS 116): brake fluids; bounds only.
//	[8] Merritt, H. E., Hydraulic Control Systems, Wiley 1967: effective bulk
//	    modulus (mark M).
//	[9] Timoshenko, S. and Goodier, J. N., Theory of Elasticity: Lamé's thick
//	    cylinder (mark M).
//	[10] 49 CFR 571.106 (FMVSS 106), Table I: largest expansion of brake hose;
//	    bounds only.
//
// Caveats: free air is an ideal gas that does not dissolve while the pressure
// changes; a hose's give is that of its mean from 0 to the pressure at which
// its expansion was stated, though real ones are softer below and stiffer
// above; viscosities are those at atmospheric pressure.
package fluid

import (
	"fmt"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// State is a pressure (Pa absolute) and a temperature (K).
type State struct{ PressureAbs, Temperature float64 }

// Atmosphere is the standard atmosphere, Pa absolute (CGPM 1954): the pressure
// at which shares of free air are stated.
const Atmosphere = 101325.0

// zeroCelsius in K.
const zeroCelsius = 273.15

// Celsius turns °C into K.
func Celsius(t float64) float64 { return t + zeroCelsius }

// Figure is an estimate with its budget and where it comes from.
type Figure struct {
	uncertainty.Estimate
	// Budget has a line for each parameter that matters; its Note is the
	// parameter's source.
	Budget uncertainty.Budget
	// Source says in words where the figure comes from; never empty.
	Source string
}

// Parameter is one thing that a figure is computed from. Value and U (> 0,
// standard uncertainty) are in the SI unit that its name implies.
type Parameter struct {
	Name   string
	Value  float64
	U      float64
	Source string
}

// Range is where a liquid's figures hold: Pa absolute and K, ends included.
type Range struct {
	PressureLow, PressureHigh       float64
	TemperatureLow, TemperatureHigh float64
}

// RangeError says that a state lies outside what is known of a liquid.
type RangeError struct {
	Liquid string
	State  State
	Range  Range
}

// Error says what was asked and where the figures hold, in bar gauge and °C.
func (e *RangeError) Error() string {
	bar := func(p float64) float64 { return (p - Atmosphere) / 1e5 }
	return fmt.Sprintf("%s: nothing is known at %.4g bar and %.4g °C; its figures hold from %.3g to %.4g bar and %.3g to %.3g °C",
		e.Liquid, bar(e.State.PressureAbs), e.State.Temperature-zeroCelsius,
		bar(e.Range.PressureLow), bar(e.Range.PressureHigh), e.Range.TemperatureLow-zeroCelsius, e.Range.TemperatureHigh-zeroCelsius)
}

// holds reports whether s lies in the range; NaN does not.
func (r Range) holds(s State) bool {
	return r.PressureLow <= s.PressureAbs && s.PressureAbs <= r.PressureHigh &&
		r.TemperatureLow <= s.Temperature && s.Temperature <= r.TemperatureHigh
}

// figure is f of the parameters with its budget; source says where the whole
// comes from.
func figure(q si.Quantity, parameters []Parameter, source string, f func(x []float64) float64) Figure {
	value, budget := propagate(parameters, f)
	u, dof := budget.Combined()
	return Figure{
		Estimate: uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: dof, Quantity: q},
		Budget:   budget, Source: source,
	}
}
