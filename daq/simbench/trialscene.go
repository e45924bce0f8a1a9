package simbench

import "math/rand/v2"

// Figure is what is stated of a quantity before a test: a value and its
// standard uncertainty (normal), SI.
type Figure struct{ Value, U float64 }

// draw is a bench's true value: z standard uncertainties off.
func (f Figure) draw(z float64) float64 { return f.Value + z*f.U }

// Stated is what a characterisation and the instruments' certificates say of
// the benches of a scene. A bench draws its truth from it once.
type Stated struct {
	ThermalCoefficient Figure // Pa/K
	Stiffness          Figure // Pa/m³
	// Lag between probe and liquid, s; > 0: the liquid follows the probe.
	Lag Figure
	// Settling since locking: amplitude in Pa and time constant in s.
	SettlingAmplitude, SettlingTime Figure
	// Creep is lost per decade of the time since locking, Pa.
	Creep Figure
	// Warming is by how much the liquid is warmer than the probe says at the
	// instant of locking (K), and WarmingTime the time constant in s with
	// which that leaves.
	Warming, WarmingTime Figure
	// Standard uncertainties of the instruments: relative gain, zero (Pa),
	// steady drift (Pa/s; K/s).
	Gain, Offset, Drift               float64
	TemperatureGain, TemperatureDrift float64
	// Resolution of the readings, Pa and K.
	Resolution, TemperatureResolution float64
}

// Scene is one circumstance in which a study tries all its leaks.
type Scene struct {
	// Name is one word for the command line, Title a few for the table.
	Name, Title string
	// Group joins the scenes that differ in the same thing.
	Group string
	// Quantity is what the limit is on, "decay_rate" or "leak_rate", and
	// Limit the largest allowed value, Pa/s.
	Quantity string
	Limit    float64
	// Tellable is false where temperature cannot be told apart from a leak by
	// anything in the hold; Tight is true where the limit is at least eight
	// times the rate that the full hold detects.
	Tellable, Tight bool

	Schedule Schedule
	Stated   Stated
	// ProbeTime is that of the probe to the body, BodyTime that of the body
	// to the room, s.
	ProbeTime, BodyTime float64
	// room draws the room's temperature over the time since t0; nil: it
	// stands still.
	room func(draw *rand.Rand) func(sinceStart float64) float64
	// gas is the part of the compliance that free gas makes; going into
	// solution, it is then what Stated calls the settling.
	gas Figure
	// quiet scales the sensors' noise: readings that are means of blocks.
	quiet float64
	// faults draws what the sensors do wrong.
	faults func(s Schedule, draw *rand.Rand) []SensorFault
}
