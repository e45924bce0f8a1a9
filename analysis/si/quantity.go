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
)
