package fluid

// Glycol-ether brake fluids. Measured figures over temperature and pressure
// were not found in public: publications put the modulus from 1.4 to 2.0 GPa
// and the expansion from 7e-4 to 1.0e-3 1/K, and so do these.
const (
	sourceBrakeDensity    = "1030 to 1070 (DOT 3) and 1050 to 1100 kg/m³ (DOT 4, ASTM D4052 at 20 °C, a product data sheet), else from memory"
	sourceBrakeExpansion  = "0.0007 to 0.001 1/K, typical of glycol ethers, from memory"
	sourceBrakeModulus    = "1.4 to 2.0 GPa at 20 °C: 1.4 by Day, Braking of Road Vehicles, 2014 (second-hand), 1370 m/s of sound in a public text, 2.0 from memory"
	sourceBrakeSoftening  = "1.4 GPa at room temperature and 0.33 GPa at 200 °C (Day 2014, second-hand)"
	sourceBrakeStiffening = "8 to 12, typical of liquids, from memory"
	sourceBrakeHeat       = "2.0 to 2.3 kJ/(kg K) from 20 to 60 °C, typical of glycol ethers, from memory"
	sourceBrakeCold       = "typical, from memory; below the maximum of 49 CFR 571.116"
	sourceBrakeHot        = "typical, from memory; above the minimum of 1.5 mm²/s of 49 CFR 571.116"
	sourceBrakeWalther    = "two points far apart, joined after ASTM D341"
	sourceBrakeAir        = "SAE J1705 appendix A, A.2.2.8: 5 % ± 2 % (quoted in a public text)"
)

// brakeClass is a class of 49 CFR 571.116 with what is typical of its fluids.
type brakeClass struct {
	name        string
	density     float64 // kg/m³ at 20 °C
	cold, uCold float64 // mm²/s at −40 °C
	hot, uHot   float64 // mm²/s at 100 °C
	otherNames  []string
	limit       float64 // largest mm²/s at −40 °C by the regulation
}

var brakeClasses = []brakeClass{
	{name: "DOT 3", density: 1045, cold: 1150, uCold: 200, hot: 2.0, uHot: 0.25, limit: 1500, otherNames: []string{"SAE J1703"}},
	{name: "DOT 4", density: 1065, cold: 1300, uCold: 250, hot: 2.2, uHot: 0.3, limit: 1800, otherNames: []string{"SAE J1704"}},
	{name: "DOT 5.1", density: 1065, cold: 780, uCold: 70, hot: 2.1, uHot: 0.3, limit: 900, otherNames: nil},
}

func brakeFluids() []Liquid {
	var out []Liquid
	for _, c := range brakeClasses {
		out = append(out, c.liquid())
	}
	return out
}

func (c brakeClass) liquid() Liquid {
	return Liquid{
		Name: "brake fluid " + c.name, Family: "brake fluid",
		Aliases: append([]string{
			c.name, c.name + " brake fluid", "glycol-ether brake fluid " + c.name, c.name + " glycol-ether brake fluid",
			"glycol brake fluid " + c.name, "brake fluid, " + c.name,
		}, c.otherNames...),
		Range: Range{PressureLow: 0.9e5, PressureHigh: Atmosphere + 300e5, TemperatureLow: Celsius(-40), TemperatureHigh: Celsius(120)},
		Parameters: []Parameter{
			plainDensity:    {"density", c.density, 15, sourceBrakeDensity},
			plainExpansion:  {"thermal expansion", 8.5e-4, 0.9e-4, sourceBrakeExpansion},
			plainModulus:    {"bulk modulus", 1.70e9, 0.18e9, sourceBrakeModulus},
			plainSoftening:  {"fall of the bulk modulus with temperature", 0.0070, 0.0020, sourceBrakeSoftening},
			plainStiffening: {"rise of the bulk modulus with pressure", 10, 1.2, sourceBrakeStiffening},
			plainHeat:       {"specific heat", 2150, 90, sourceBrakeHeat},
			plainViscosity1: {"viscosity at -40 °C", c.cold * mm2PerSecond, c.uCold * mm2PerSecond, sourceBrakeCold},
			plainViscosity2: {"viscosity at 100 °C", c.hot * mm2PerSecond, c.uHot * mm2PerSecond, sourceBrakeHot},
			plainLaw:        {"law of viscosity", 1, 0.08, sourceBrakeWalther},
		},
		AirSolubility: Parameter{"air solubility", 0.05, 0.02, sourceBrakeAir},
		law:           plainLiquid(Celsius(20), Celsius(-40), Celsius(100)),
	}
}
