package simbench

import (
	"math"
	"math/rand/v2"
)

// Trial is the truth about one hold of a simulation study, in finer physics
// than that of Circuit: a compliance that depends on the pressure, a liquid
// that exchanges heat with a body and that with the room, a probe on the body,
// hoses and seals that creep with the logarithm of time, gas that goes into
// solution. All SI, pressures gauge, times in s since the recording's start.
type Trial struct {
	Schedule Schedule
	Volume   Volume
	Heat     Heat
	Creep    Creep
	Leak     Leak
	// Pressure and Temperature are the two sensors.
	Pressure, Temperature TrialSensor
	Faults                []SensorFault
}

// Schedule is when what happens, s: the recording runs for Before until the
// pump raises the pressure to TestPressure (Pa) within Pump; after Open the
// valve is locked, after Wait the hold begins, which lasts Hold.
type Schedule struct {
	Before, Pump, Open, Wait, Hold float64
	// Interval is the time between readings, s; Step the largest step of the
	// integration, > 0.
	Interval, Step float64
	TestPressure   float64
}

// Locked is the instant of locking, s.
func (s Schedule) Locked() float64 { return s.Before + s.Pump + s.Open }

// Start is t0 of the hold, s.
func (s Schedule) Start() float64 { return s.Locked() + s.Wait }

// End is t1 of the hold, s.
func (s Schedule) End() float64 { return s.Start() + s.Hold }

// Volume is the trapped volume and how it gives way.
type Volume struct {
	// ThermalCoefficient (Pa/K) and Stiffness (Pa/m³, > 0) at the test
	// pressure, gas and hoses included.
	ThermalCoefficient, Stiffness float64
	// HoseShare is the hoses' part of what gives way at the test pressure; it
	// falls with the pressure to the power of −HoseStiffening.
	HoseShare, HoseStiffening float64
	// BulkModulus at 0 Pa gauge (Pa) and its change per Pa: K = K0 + K1·p.
	BulkModulus, BulkModulusByPressure float64
	// Gas is the part of Stiffness's inverse that free gas makes at the test
	// pressure (0–1), and GasTime the time constant in s with which it goes
	// into solution.
	Gas, GasTime float64
}

// Heat is how warmth moves between liquid, body, room and probe.
type Heat struct {
	// Room is the room's temperature, K, for any time before and after the
	// recording's start.
	Room func(t float64) float64
	// LiquidTime is the time constant with which the liquid follows the body,
	// BodyTime that of the body to the room, ProbeTime that of the probe to
	// the body, s, > 0.
	LiquidTime, BodyTime, ProbeTime float64
	// LiquidShare is the liquid's heat capacity over the body's.
	LiquidShare float64
	// Compression is by how much the liquid warms when it is compressed
	// quickly, K/Pa.
	Compression float64
}

// Creep is how hoses and seals give way, in pressure at the test pressure.
type Creep struct {
	Exponential []Settling
	// PerDecade is lost for each decade of the time since the pump stopped
	// (counted from Begin s), Pa.
	PerDecade, Begin float64
}

// Leak is what flows out.
type Leak struct {
	// Rate is the rate of pressure loss at the test pressure, at Reference
	// (K) and with nothing behind the leak, Pa/s.
	Rate, Reference float64
	// Power of the pressure difference: 1 for a laminar gap, ½ for an orifice.
	Power float64
	// ByTemperature is the relative change of the flow per kelvin, 1/K.
	ByTemperature float64
	// Sink is the pressure behind the leak once the feed side is vented, Pa.
	Sink float64
}

// Tried is one simulated hold: what its instruments wrote down, and what an
// ideal observer knows.
type Tried struct {
	Schedule
	// Time of the readings, s; pressure in Pa gauge and temperature in K at
	// each, NaN where none came.
	Time, PressureReading, TemperatureReading []float64
	// DecayRate and LeakRate are the true mean rates of loss over the hold,
	// with and without settling, Pa/s: what leak, creep and gas took from the
	// volume, over its compliance, summed along the hold as it was.
	DecayRate, LeakRate float64
	// Leaked and Settled are what the leak and what settling took since t0, Pa,
	// at Time; 0 before t0.
	Leaked, Settled []float64
	// LiquidChange is T_f(t1) − T_f(t0), K.
	LiquidChange float64
}

// Run simulates the hold; the readings' noise and faults come from draw.
func (t Trial) Run(draw *rand.Rand) Tried {
	out := Tried{Schedule: t.Schedule}
	n := int(math.Round(t.Schedule.End()/t.Schedule.Interval)) + 1
	out.Time = make([]float64, n)
	out.PressureReading, out.TemperatureReading = make([]float64, n), make([]float64, n)
	out.Leaked, out.Settled = make([]float64, n), make([]float64, n)
	s := newTrapped(t)
	for i := range n {
		out.Time[i] = float64(i) * t.Schedule.Interval
		s.until(out.Time[i])
		out.PressureReading[i], out.TemperatureReading[i] = s.pressure, s.probe
		if s.marked {
			out.Leaked[i], out.Settled[i] = s.leaked, s.settled
		}
	}
	s.account(&out)
	t.Pressure.read(out.Time, out.PressureReading, t.Schedule.Start(), draw)
	t.Temperature.read(out.Time, out.TemperatureReading, t.Schedule.Start(), draw)
	for _, f := range t.Faults {
		f.apply(out, draw)
	}
	return out
}

// Losses runs the physics alone and returns the two true rates, Pa/s.
func (t Trial) Losses() (decay, leak float64) {
	s := newTrapped(t)
	s.until(t.Schedule.End())
	var out Tried
	s.account(&out)
	return out.DecayRate, out.LeakRate
}

// Until returns the true mean rates of loss from t0 to a time of a reading, s
// since the recording's start, Pa/s: over the part of a hold that ended early.
func (t Tried) Until(at float64) (decay, leak float64) {
	i := min(int(math.Round(at/t.Interval)), len(t.Time)-1)
	d := t.Time[i] - t.Start()
	return (t.Leaked[i] + t.Settled[i]) / d, t.Leaked[i] / d
}
