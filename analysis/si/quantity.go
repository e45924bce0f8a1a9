// Package si knows physical quantities and the units in which people write
// them. Inside holdbench every number is SI; this package is the edge where
// "100 bar" becomes 1e7 Pa and back.
//
// A pressure and a pressure change, a temperature and a temperature
// difference are different quantities: 1 °C is a state of 274.15 K, but a
// difference of 1 K.
//
// Sources:
//
//	[1] NIST SP 811 (2008), Guide for the Use of the SI, appendix B.
//	[2] JCGM 100:2008, Evaluation of measurement data (GUM).
package si

// Quantity is a kind of physical quantity.
type Quantity uint8

// The quantities of the house, with their SI units.
const (
	Dimensionless         Quantity = iota // 1
	Time                                  // s
	Pressure                              // Pa, a state (gauge unless a name says absolute)
	PressureChange                        // Pa, a difference of two states
	PressureRate                          // Pa/s
	Temperature                           // K, a state
	TemperatureDifference                 // K
	TemperatureRate                       // K/s
	ThermalCoefficient                    // Pa/K, pressure per kelvin at constant volume
	Stiffness                             // Pa/m³, pressure per volume
	Volume                                // m³
	VolumeFlow                            // m³/s
	Current                               // A
	Voltage                               // V
	Frequency                             // Hz
	Length                                // m
	Density                               // kg/m³
	PerKelvin                             // 1/K, a relative change per kelvin
	BulkModulus                           // Pa
	SpecificHeat                          // J/(kg K)
	Viscosity                             // m²/s, kinematic
	VolumePerLength                       // m³/m
	Resistance                            // Ω
)

// quantityRow describes one quantity.
type quantityRow struct {
	name string
	// si is the symbol of the SI unit, a row of the unit table or a compound.
	si string
	// example is a unit that people would write, value and u plausible numbers
	// in it; they serve error messages.
	value, u, example string
	// over and under make a compound quantity: over per under.
	compound    bool
	over, under Quantity
}

var quantities = [...]quantityRow{
	Dimensionless:         {name: "number", si: "1", value: "5", u: "1", example: "%"},
	Time:                  {name: "time", si: "s", value: "5", u: "0.1", example: "min"},
	Pressure:              {name: "pressure", si: "Pa", value: "100", u: "0.5", example: "bar"},
	PressureChange:        {name: "pressure change", si: "Pa", value: "2", u: "0.1", example: "bar"},
	PressureRate:          {name: "pressure rate", si: "Pa/s", value: "0.5", u: "0.05", example: "bar/min", compound: true, over: PressureChange, under: Time},
	Temperature:           {name: "temperature", si: "K", value: "23", u: "0.5", example: "°C"},
	TemperatureDifference: {name: "temperature difference", si: "K", value: "0.5", u: "0.1", example: "K"},
	TemperatureRate:       {name: "temperature rate", si: "K/s", value: "3", u: "0.2", example: "K/h", compound: true, over: TemperatureDifference, under: Time},
	ThermalCoefficient:    {name: "thermal coefficient", si: "Pa/K", value: "4.5", u: "0.2", example: "bar/K", compound: true, over: PressureChange, under: TemperatureDifference},
	Stiffness:             {name: "stiffness", si: "Pa/m³", value: "20", u: "1", example: "bar/mL", compound: true, over: PressureChange, under: Volume},
	Volume:                {name: "volume", si: "m³", value: "120", u: "5", example: "mL"},
	VolumeFlow:            {name: "volume flow", si: "m³/s", value: "0.3", u: "0.02", example: "mL/min", compound: true, over: Volume, under: Time},
	Current:               {name: "current", si: "A", value: "12", u: "0.01", example: "mA"},
	Voltage:               {name: "voltage", si: "V", value: "5", u: "0.01", example: "V"},
	Frequency:             {name: "frequency", si: "Hz", value: "10", u: "0.1", example: "Hz"},
	Length:                {name: "length", si: "m", value: "4.75", u: "0.05", example: "mm"},
	Density:               {name: "density", si: "kg/m³", value: "870", u: "5", example: "kg/m³"},
	PerKelvin:             {name: "change per kelvin", si: "1/K", value: "7.0e-4", u: "0.3e-4", example: "1/K"},
	BulkModulus:           {name: "bulk modulus", si: "Pa", value: "1.6", u: "0.1", example: "GPa"},
	SpecificHeat:          {name: "specific heat", si: "J/(kg K)", value: "1900", u: "100", example: "J/(kg K)"},
	Viscosity:             {name: "kinematic viscosity", si: "m²/s", value: "32", u: "2", example: "mm²/s"},
	VolumePerLength:       {name: "volume per length", si: "m³/m", value: "1.1", u: "0.2", example: "mL/m", compound: true, over: Volume, under: Length},
	Resistance:            {name: "resistance", si: "Ω", value: "107.8", u: "0.02", example: "Ω"},
}

// Quantities returns every quantity, in the order of the constants.
func Quantities() []Quantity {
	all := make([]Quantity, len(quantities))
	for i := range all {
		all[i] = Quantity(i)
	}
	return all
}

// String returns the quantity in words, e.g. "pressure rate".
func (q Quantity) String() string {
	if int(q) >= len(quantities) {
		return "unknown quantity"
	}
	return quantities[q].name
}

// SI returns the quantity's SI unit, e.g. Pa/s. It panics for a Quantity that
// is none of the constants.
func (q Quantity) SI() Unit {
	return Unit{Symbol: quantities[q].si, Quantity: q, Factor: 1}
}

// Difference returns the quantity of a difference of two values of q:
// a pressure change for a pressure, a temperature difference for a
// temperature, q itself for all others.
func (q Quantity) Difference() Quantity {
	switch q {
	case Pressure:
		return PressureChange
	case Temperature:
		return TemperatureDifference
	}
	return q
}
