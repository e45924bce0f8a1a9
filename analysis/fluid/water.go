package fluid

import "math"

const (
	sourceKell  = "Kell 1975 (J. Chem. Eng. Data 20, 97) at one atmosphere, slope with pressure after IAPWS-95"
	sourceIAPWS = "polynomial through IAPWS-95 at one atmosphere, change with pressure from expansion"
	sourceVisc  = "IAPWS SR6-08(2011), 0.1 MPa"
)

// waterLiquids is water without air. Accuracy against IAPWS-95 from 0 to
// 100 °C and 0.1 to 20 MPa: density 20 ppm, modulus 0.04 %, expansion 0.6e-6
// 1/K, specific heat 0.07 %; the standard uncertainties below are a little
// larger, since real water has salts and air in it. Above 99 °C it is liquid
// under pressure only.
var waterLiquids = []Liquid{{
	Name: "water", Aliases: []string{"H2O", "tap water", "distilled water", "deionised water"}, Family: "water",
	Range: Range{PressureLow: 0.9e5, PressureHigh: 20e6, TemperatureLow: Celsius(0), TemperatureHigh: Celsius(100)},
	Parameters: []Parameter{
		{"density", 1, 5e-5, sourceKell},
		{"thermal expansion", 0, 0.6e-6, sourceKell},
		{"bulk modulus", 1, 0.0007, sourceKell},
		{"specific heat", 1, 0.001, sourceIAPWS},
		{"viscosity", 1, 0.01, sourceVisc},
	},
	AirSolubility: Parameter{"air solubility", 0.019, 0.002, "Bunsen coefficient of air in water at 20 °C, handbooks, from memory"},
	law:           waterLaw,
}}

// waterLaw takes factors on density, modulus, specific heat and viscosity and
// an addition to the expansion.
func waterLaw(x []float64, s State) point {
	t := s.Temperature - zeroCelsius
	over := s.PressureAbs - Atmosphere
	p := waterAt(t, over, x[0], x[1], x[2])
	p.specificHeat = (polynomial(waterHeat, t) + waterHeatSlope(t, over/2)*over) * x[3]
	mu, change := waterViscosity(s.Temperature)
	rho, _ := kellDensity(t)
	p.viscosity = mu / (rho * x[0]) * x[4]
	p.thinning = change * x[4]
	return p
}

// waterAt is density, expansion and modulus by °C and the pressure (Pa) over
// one atmosphere, with factors on density and modulus and an addition to the
// expansion.
func waterAt(t, over, density, expansion, modulus float64) point {
	k0, slope := kellModulus(t)
	rho, alpha := kellDensity(t)
	p := tangent{
		density: rho * density, expansion: alpha + expansion, modulus: k0 * modulus, softening: slope * modulus,
		stiffening: polynomial(waterStiffening, t),
	}.at(Atmosphere + over)
	// The stiffening changes with temperature, a little, and expansion with it.
	p.expansion += waterBend(k0*modulus, t, over)
	return p
}

// waterStiffening is m by °C, fitted to IAPWS-95 from 0 to 100 °C and 0.1 to
// 20 MPa, within 0.01 (mark C).
var waterStiffening = []float64{5.669601861683618, -0.012226280104548877, 0.0007452319408401721, -8.38328015954246e-06, 3.386041664923285e-08}

// waterHeat is c_p, J/(kg K), by °C at one atmosphere, fitted to IAPWS-95
// from 0 to 90 °C, within 0.2 (mark C).
var waterHeat = []float64{4219.320903778383, -3.3001624264154077, 0.104340932328641, -0.0016496978997031498, 1.3867062679382138e-05, -4.5638149977406306e-08}

// waterHeatSlope is ∂c_p/∂p = −T·v·(α² + ∂α/∂T) by °C at a pressure over one
// atmosphere, J/(kg K Pa) (mark L).
func waterHeatSlope(t, over float64) float64 {
	const step = 0.5 // °C
	at := func(t float64) point { return waterAt(t, over, 1, 0, 1) }
	p := at(t)
	bend := (at(t+step).expansion - at(t-step).expansion) / (2 * step)
	return -(t + zeroCelsius) / p.density * (p.expansion*p.expansion + bend)
}

// waterBend is what the change of m with temperature adds to the expansion:
// −∂/∂m[ln(1 + m·P/K0)/m]·dm/dT (mark L).
func waterBend(k0, t, over float64) float64 {
	m, slope := polynomial(waterStiffening, t), derivative(waterStiffening, t)
	y := over / k0
	return -slope * (y/(1+m*y) - math.Log1p(m*y)/m) / m
}

// kellDensity is ρ at one atmosphere, kg/m³, and α = −dlnρ/dT, by °C.
//
// Source: [2], eq. 16.
func kellDensity(t float64) (rho, alpha float64) {
	above := []float64{999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12}
	const under = 16.879850e-3
	rho = polynomial(above, t) / (1 + under*t)
	return rho, under/(1+under*t) - derivative(above, t)/polynomial(above, t)
}

// kellModulus is K at one atmosphere, Pa, and dK/dT, by °C.
//
// Source: [2], eq. 20, compressibility in 1e-6 1/bar.
func kellModulus(t float64) (k, slope float64) {
	above := []float64{50.88496, 0.6163813, 1.459187e-3, 20.08438e-6, -58.47727e-9, 410.4110e-12}
	const under = 19.67348e-3
	kappa := polynomial(above, t) / (1 + under*t) * 1e-11 // 1/Pa
	relative := derivative(above, t)/polynomial(above, t) - under/(1+under*t)
	return 1 / kappa, -relative / kappa
}

// waterViscosity is μ, Pa·s, at 0.1 MPa and (1/μ)·dμ/dT, by K; valid from
// 253.15 to 383.15 K.
//
// Source: [4], eq. 7 and table 6.
func waterViscosity(t float64) (mu, change float64) {
	reduced := t / 300
	for _, term := range [...]struct{ a, b float64 }{{280.68, -1.9}, {511.45, -7.7}, {61.131, -19.6}, {0.45903, -40.0}} {
		part := term.a * math.Pow(reduced, term.b) * 1e-6
		mu += part
		change += part * term.b / t
	}
	return mu, change / mu
}

// polynomial is Σ c_i·x^i.
func polynomial(c []float64, x float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}

// derivative is Σ i·c_i·x^(i−1).
func derivative(c []float64, x float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 1; i-- {
		sum = sum*x + float64(i)*c[i]
	}
	return sum
}
