package bench

// Simulated is the [simulated] table of a bench file: the physics of the
// simulated trapped volume. All SI; daq/simbench gives the defaults.
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
