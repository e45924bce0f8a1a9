package fluid

// adiabaticRatio is K_S/K = c_p/c_v:
//
//	γ = 1/(1 − T·α²·K/(ρ·c_p))
//
// Source: thermodynamics of a simple compressible liquid (mark L).
func (p point) adiabaticRatio(t float64) float64 {
	return 1 / (1 - t*p.expansion*p.expansion*p.modulus/(p.density*p.specificHeat))
}

// rise is how much the liquid warms per Pa when it is compressed too quickly
// for heat to leave, K/Pa: T·α/(ρ·c_p) (mark L).
func (p point) rise(t float64) float64 {
	return t * p.expansion / (p.density * p.specificHeat)
}

// warmed is the rise in temperature, K, over an adiabatic compression between
// two pressures, Pa absolute, from a temperature: by Simpson's rule over the
// pressure, at that temperature throughout.
func warmed(at func(State) point, from, to, t float64) float64 {
	rise := func(p float64) float64 { return at(State{p, t}).rise(t) }
	return (to - from) * (rise(from) + 4*rise((from+to)/2) + rise(to)) / 6
}
