package fluid

import "math"

// tangent is a liquid whose isothermal bulk modulus rises in proportion to the
// pressure, and whose density, expansion and modulus agree with each other:
//
//	K(p, T) = K0(T) + m·P                    P = p − one atmosphere
//	ρ(p, T) = ρ0(T)·(1 + m·P/K0(T))^(1/m)
//	α(p, T) = α0(T) + P·K0'(T)/(K0(T)·K(p, T))
//
// Source: Murnaghan's law of compression; the third line follows from
// ∂α/∂p = −∂(1/K)/∂T (mark L). Valid for P ≤ K0/20.
type tangent struct {
	density, expansion float64 // ρ0 and α0 at one atmosphere and T
	modulus, softening float64 // K0 and K0' = dK0/dT
	stiffening         float64 // m
}

// at returns density, expansion and modulus at a pressure, Pa absolute.
func (t tangent) at(pressureAbs float64) point {
	over := pressureAbs - Atmosphere
	k := t.modulus + t.stiffening*over
	return point{
		density:   t.density * math.Exp(math.Log1p(t.stiffening*over/t.modulus)/t.stiffening),
		expansion: t.expansion + over*t.softening/(t.modulus*k),
		modulus:   k,
	}
}

// The parameters of a plain liquid, in their order.
const (
	plainDensity    = iota // kg/m³ at the reference temperature, one atmosphere
	plainExpansion         // 1/K
	plainModulus           // Pa
	plainSoftening         // 1/K, relative fall of K0 with temperature
	plainStiffening        // rise of K with pressure
	plainHeat              // J/(kg K)
	plainViscosity1        // m²/s
	plainViscosity2        // m²/s
	plainLaw               // 1 ± how far viscosity keeps to the law
	plainParameters
)

// plainLiquid is the law of a liquid that is known by figures at one reference
// temperature (K) and by viscosities at two (K).
func plainLiquid(reference, first, second float64) law {
	return func(x []float64, s State) point {
		dT := s.Temperature - reference
		k0 := x[plainModulus] * math.Exp(-x[plainSoftening]*dT)
		p := tangent{
			density:   x[plainDensity] * math.Exp(-x[plainExpansion]*dT),
			expansion: x[plainExpansion],
			modulus:   k0, softening: -x[plainSoftening] * k0, stiffening: x[plainStiffening],
		}.at(s.PressureAbs)
		p.specificHeat = x[plainHeat]
		w := waltherThrough(first, x[plainViscosity1], second, x[plainViscosity2])
		p.viscosity = w.viscosity(s.Temperature) * x[plainLaw]
		p.thinning = w.change(s.Temperature)*x[plainLaw] - x[plainExpansion]
		return p
	}
}
