package fluid

import "fmt"

// Mineral hydraulic oils. All classes share expansion, compression and heat;
// they differ in viscosity and a little in density. Publications put the
// modulus anywhere from 1.4 to 2.0 GPa without saying which kind it is.
const (
	sourceOilExpansion  = "0.00065 to 0.00083 1/K: handbook value 0.0007, 0.00046 1/°F of a mineral aviation oil in a public component handbook"
	sourceOilModulus    = "1.4 to 1.8 GPa at low pressure: public handbook tables (260000 psi at 10000 psi and 20 °C; 1.5 to 2.0 GPa in service)"
	sourceOilSoftening  = "0.5 to 1.0 %/K, typical, from memory"
	sourceOilStiffening = "9 to 12, typical of liquids (Hayward; Hodges, Hydraulic Fluids, 1996), from memory"
	sourceOilHeat       = "1.8 to 2.1 kJ/(kg K) from 20 to 60 °C, typical, from memory"
	sourceOilDensity    = "850 to 890 kg/m³ at 15 °C, typical, from memory"
	sourceOilWalther    = "two points joined after ASTM D341"
)

// oilGrade is a class of ISO 3448 with what is typical of its oils.
type oilGrade struct {
	grade     int     // mm²/s at 40 °C, ± 10 % by the class
	at100     float64 // mm²/s at 100 °C of oils with a viscosity index near 100
	density20 float64 // kg/m³ at 20 °C
}

var oilGrades = []oilGrade{
	{15, 3.4, 858}, {22, 4.3, 862}, {32, 5.4, 867}, {46, 6.8, 872}, {68, 8.7, 876}, {100, 11.3, 880},
}

func oils() []Liquid {
	var out []Liquid
	for _, g := range oilGrades {
		out = append(out, g.liquid())
	}
	return out
}

// liquid makes the row. The class allows ± 10 % of the viscosity at 40 °C, so
// u = 10 %/√3.
func (g oilGrade) liquid() Liquid {
	at40 := float64(g.grade) * mm2PerSecond
	return Liquid{
		Name: fmt.Sprintf("mineral hydraulic oil ISO VG %d", g.grade), Family: "mineral hydraulic oil",
		Aliases: g.aliases(),
		Range:   Range{PressureLow: 0.9e5, PressureHigh: Atmosphere + 400e5, TemperatureLow: Celsius(-10), TemperatureHigh: Celsius(90)},
		Parameters: []Parameter{
			plainDensity:    {"density", g.density20, 12, sourceOilDensity},
			plainExpansion:  {"thermal expansion", 7.2e-4, 0.5e-4, sourceOilExpansion},
			plainModulus:    {"bulk modulus", 1.60e9, 0.13e9, sourceOilModulus},
			plainSoftening:  {"fall of the bulk modulus with temperature", 0.0070, 0.0015, sourceOilSoftening},
			plainStiffening: {"rise of the bulk modulus with pressure", 10.5, 1, sourceOilStiffening},
			plainHeat:       {"specific heat", 1950, 90, sourceOilHeat},
			plainViscosity1: {"viscosity at 40 °C", at40, 0.058 * at40, "ISO 3448: class middle ± 10 %"},
			plainViscosity2: {"viscosity at 100 °C", g.at100 * mm2PerSecond, 0.06 * g.at100 * mm2PerSecond, "typical of a viscosity index of 95 to 105, from memory"},
			plainLaw:        {"law of viscosity", 1, 0.03, sourceOilWalther},
		},
		AirSolubility: Parameter{"air solubility", 0.09, 0.01, "0.08 to 0.1, Bunsen coefficient of air in mineral oil, from memory"},
		law:           plainLiquid(Celsius(20), Celsius(40), Celsius(100)),
	}
}

// aliases are what people write for the class.
func (g oilGrade) aliases() []string {
	var out []string
	for _, pattern := range []string{
		"ISO VG %d", "VG %d", "HLP %d", "HL %d", "HM %d", "HV %d", "HVLP %d", "hydraulic oil ISO VG %d", "hydraulic oil VG %d",
		"mineral oil ISO VG %d", "mineral oil VG %d", "mineral hydraulic oil VG %d", "hydraulic oil HLP %d", "hydraulic oil HM %d",
	} {
		out = append(out, fmt.Sprintf(pattern, g.grade))
	}
	return out
}
