package fluid

import "math"

// Air is free air in the liquid, not dissolved.
type Air struct {
	// Share by volume of the whole at one atmosphere, 0 to below 1.
	Share float64
	// Exponent of the polytropic law: Isothermal for anything slow, Adiabatic
	// for a quick step.
	Exponent float64
}

// Exponents of air.
const (
	Isothermal = 1.0
	// Adiabatic is c_p/c_v of dry air at 20 °C and one atmosphere: Lemmon et
	// al., J. Phys. Chem. Ref. Data 29 (2000) 331, 1.4020, as the usual 1.4.
	Adiabatic = 1.4
)

// volume of the air at a pressure (Pa absolute), per volume of the whole at
// one atmosphere: x·(p0/p)^(1/n).
func (a Air) volume(pressureAbs float64) float64 {
	return a.Share * math.Pow(Atmosphere/pressureAbs, 1/a.Exponent)
}

// Mixture is the volume of liquid with free air at a pressure (Pa absolute)
// over that at one atmosphere, and its tangent bulk modulus in Pa, for a
// liquid of constant bulk modulus k (Pa):
//
//	V/V0 = (1 − x)·exp(−(p − p0)/K) + x·(p0/p)^(1/n)
//	K_e  = −V/(dV/dp)
//
// Source: definition; [8] is its limit for little air.
func (a Air) Mixture(k, pressureAbs float64) (volume, modulus float64) {
	gas := a.volume(pressureAbs)
	liquid := (1 - a.Share) * math.Exp(-(pressureAbs-Atmosphere)/k)
	return gas + liquid, (gas + liquid) / (gas/(a.Exponent*pressureAbs) + liquid/k)
}

// DissolvingLoss is the pressure (Pa) that is lost when the free air dissolves
// for good in a volume that does not give way, at a pressure (Pa absolute): the
// air's volume there times k (Pa), the bulk modulus of the rest.
func (a Air) DissolvingLoss(k, pressureAbs float64) float64 {
	return a.volume(pressureAbs) * k
}
