package fluid

import "math"

// Capillary is a round bore through which liquid creeps: Diameter and Length
// in m.
type Capillary struct{ Diameter, Length float64 }

// Flow is what a pressure difference (Pa) drives through it, m³/s, for a
// dynamic viscosity in Pa·s:
//
//	q = π·d⁴·Δp/(128·μ·L)
//
// Source: Hagen–Poiseuille (mark M). Valid for a Reynolds number far below
// 2000.
func (c Capillary) Flow(dp, mu float64) float64 {
	return math.Pi * math.Pow(c.Diameter, 4) * dp / (128 * mu * c.Length)
}

// Reynolds is the Reynolds number of that flow in a liquid of a density in
// kg/m³.
func (c Capillary) Reynolds(dp, mu, density float64) float64 {
	return 4 * density * c.Flow(dp, mu) / (math.Pi * c.Diameter * mu)
}

// TimeConstant is that of the pressure in a volume that leaks through it, s:
// τ = μ·128·L/(π·d⁴) · C, for a compliance C in m³/Pa.
func (c Capillary) TimeConstant(mu, compliance float64) float64 {
	return compliance / c.Flow(1, mu)
}

// DropFactor is how many drops make a volume: a convention, real drops differ
// by a factor of two or more.
type DropFactor struct {
	PerMillilitre float64
	Source        string
}

// DropFactors that are in use.
var DropFactors = []DropFactor{
	{16, "API 598, valve closure tests, from memory"},
	{20, "pharmacopoeial dropper and hydraulic trade rule, from memory"},
}

// Drop is the volume of one, m³.
func (f DropFactor) Drop() float64 { return 1e-6 / f.PerMillilitre }
