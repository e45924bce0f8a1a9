package bench

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// Simulated is the [simulated] table of a bench file: the physics of the
// simulated trapped volume. All SI. A figure that the file does not state is
// 0: no leak, no ramp, no settling, and for the others the default that
// daq/simbench gives.
type Simulated struct {
	// ThermalCoefficient B of the trapped liquid, Pa/K.
	ThermalCoefficient float64
	// Leak is the true leak rate at the test pressure, Pa/s.
	Leak float64
	// TemperatureRate is the ramp of the bench's temperature, K/s.
	TemperatureRate float64
	// SettlingAmplitude Pa and SettlingTimeConstant s of hoses and seals.
	SettlingAmplitude, SettlingTimeConstant float64
	// TestPressure is what `pump` goes to when no figure is given, Pa.
	TestPressure float64
	Seed         uint64
}

// simulated reads [simulated]; nil when t is.
func simulated(t *strict.Table) *Simulated {
	if t == nil {
		return nil
	}
	s := &Simulated{
		ThermalCoefficient:   t.Optional("thermal_coefficient").Positive(si.ThermalCoefficient),
		Leak:                 t.Optional("leak").Quantity(si.PressureRate),
		TemperatureRate:      t.Optional("temperature_rate").Quantity(si.TemperatureRate),
		SettlingAmplitude:    t.Optional("settling_amplitude").Quantity(si.PressureChange),
		SettlingTimeConstant: t.Optional("settling_time_constant").Positive(si.Time),
		TestPressure:         t.Optional("test_pressure").Positive(si.Pressure),
		Seed:                 uint64(t.Optional("seed").Int(0, math.MaxInt)),
	}
	for _, x := range []*float64{&s.ThermalCoefficient, &s.Leak, &s.TemperatureRate,
		&s.SettlingAmplitude, &s.SettlingTimeConstant, &s.TestPressure} {
		if math.IsNaN(*x) {
			*x = 0
		}
	}
	return s
}
