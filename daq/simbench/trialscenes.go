package simbench

import (
	"math"
	"math/rand/v2"
)

// Units of the table, in SI.
const (
	trialBar          = 1e5
	trialBarPerMinute = trialBar / 60
	trialBarPerHour   = trialBar / 3600
	trialKelvinHour   = 1.0 / 3600
)

// ordinary is what is stated of the benches of most scenes. Invented.
var ordinary = Stated{
	ThermalCoefficient: Figure{4.5e5, 0.2e5}, Stiffness: Figure{3e12, 0.15e12},
	Lag:               Figure{20, 4},
	SettlingAmplitude: Figure{0.2e5, 0.04e5}, SettlingTime: Figure{50, 8}, Creep: Figure{0.06e5, 0.02e5},
	Warming: Figure{0.4, 0.06}, WarmingTime: Figure{25, 4},
	Gain: 0.002, Offset: 0.1e5, Drift: 0.01 * trialBarPerHour, TemperatureGain: 0.005, TemperatureDrift: 0.003 * trialKelvinHour,
	Resolution: 500, TemperatureResolution: 0.005,
}

// ordinarySchedule is a hold of 5 min, read once a second.
var ordinarySchedule = Schedule{Before: 60, Pump: 20, Open: 5, Wait: 180, Hold: 300, Interval: 1, Step: 1, TestPressure: 100e5}

// Scenes is the table of a study's circumstances.
var Scenes = []Scene{
	scene("tight", "tight unit, coarse limit", "thermal", func(s *Scene) {
		s.Limit, s.Tight = 0.5*trialBarPerMinute, true
	}),
	scene("steady", "steady", "thermal", nil),
	scene("ramp", "ramp", "thermal", func(s *Scene) {
		s.room = ramp(4 * trialKelvinHour)
	}),
	scene("heating", "sawtooth of a heating", "thermal", func(s *Scene) { s.room = heating(4, 420) }),
	scene("door", "door opened", "thermal", func(s *Scene) { s.room = doorOpening(4, 60) }),
	scene("pumped", "relaxation after pressurising", "thermal", func(s *Scene) {
		s.Schedule.Wait = 40
	}),
	scene("lagging", "lagging probe", "thermal", func(s *Scene) {
		s.ProbeTime, s.Stated.Lag, s.Stated.WarmingTime = 60, Figure{-35, 6}, Figure{25, 6}
		s.room = heating(4, 420)
	}),
	scene("instep", "time and temperature in step", "thermal", func(s *Scene) {
		s.Tellable = false
		s.Stated.ThermalCoefficient.U = 0.4e5
		s.room = ramp(12 * trialKelvinHour)
	}),
	scene("settling", "settling", "settling", func(s *Scene) {
		s.Quantity = "leak_rate"
		s.Schedule.Wait = 60
		s.Stated.SettlingAmplitude, s.Stated.SettlingTime = Figure{1.2e5, 0.15e5}, Figure{90, 10}
		s.Stated.Creep = Figure{0.3e5, 0.08e5}
	}),
	scene("air", "trapped air", "trapped air", func(s *Scene) {
		s.Quantity = "leak_rate"
		// Gas of that compliance takes 100 bar × its share when it dissolves.
		s.gas = Figure{0.012, 0.002}
		s.Stated.SettlingAmplitude, s.Stated.SettlingTime = Figure{1.2e5, 0.2e5}, Figure{600, 80}
		s.Stated.Creep = Figure{0.06e5, 0.02e5}
	}),
	scene("faults", "sensor faults", "sensor faults", func(s *Scene) { s.faults = sensorFaults }),
	scene("short", "short hold, 1 min", "short and long", func(s *Scene) {
		s.Schedule.Hold, s.Schedule.Interval, s.Limit = 60, 0.5, 0.25*trialBarPerMinute
	}),
	scene("long", "long hold, 8 h, room by day and night", "short and long", func(s *Scene) {
		s.Schedule = Schedule{Before: 600, Pump: 20, Open: 5, Wait: 3575, Hold: 8 * 3600, Interval: 60, Step: 10, TestPressure: 100e5}
		s.Limit = 0.3 * trialBarPerHour
		s.ProbeTime = 5
		s.room = dayAndNight(0.7)
		s.quiet = 0.3
	}),
}

// scene is a row of the table: the ordinary one, changed.
func scene(name, title, group string, change func(*Scene)) Scene {
	s := Scene{
		Name: name, Title: title, Group: group, Quantity: "decay_rate", Limit: 0.2 * trialBarPerMinute, Tellable: true,
		Schedule: ordinarySchedule, Stated: ordinary, ProbeTime: 5, BodyTime: 900, quiet: 1,
	}
	if change != nil {
		change(&s)
	}
	return s
}

// either is +1 or −1.
func either(draw *rand.Rand) float64 { return 2*float64(draw.IntN(2)) - 1 }

// ramp of the room at about a rate, K/s, up or down, begun long before.
func ramp(rate float64) func(draw *rand.Rand) func(float64) float64 {
	return func(draw *rand.Rand) func(float64) float64 {
		r := rate * either(draw) * (0.7 + 0.6*draw.Float64())
		return func(t float64) float64 { return r * t }
	}
}

// heating that goes on and off: a triangle of that height (K) and about that
// period (s).
func heating(height, period float64) func(draw *rand.Rand) func(float64) float64 {
	return func(draw *rand.Rand) func(float64) float64 {
		phase, length := draw.Float64(), period*(0.7+0.6*draw.Float64())
		return func(t float64) float64 {
			at := t/length + phase
			at -= math.Floor(at)
			return height * (1 - 4*math.Abs(at-0.5)) / 2
		}
	}
}

// doorOpening lets the room fall by about depth (K) for about so many seconds
// somewhere in the hold.
func doorOpening(depth, seconds float64) func(draw *rand.Rand) func(float64) float64 {
	return func(draw *rand.Rand) func(float64) float64 {
		at, d, long := 200*draw.Float64(), depth*(0.7+0.6*draw.Float64()), seconds*(0.7+0.6*draw.Float64())
		return func(t float64) float64 {
			switch {
			case t < at:
				return 0
			case t < at+long:
				return -d
			}
			return -d * math.Exp(-(t-at-long)/120)
		}
	}
}

// dayAndNight is a sine of that amplitude, K, with a period of 24 h.
func dayAndNight(amplitude float64) func(draw *rand.Rand) func(float64) float64 {
	return func(draw *rand.Rand) func(float64) float64 {
		phase := 2 * math.Pi * draw.Float64()
		return func(t float64) float64 { return amplitude * math.Sin(2*math.Pi*t/86400+phase) }
	}
}

// sensorFaults draws one fault of one sensor.
func sensorFaults(s Schedule, draw *rand.Rand) []SensorFault {
	f := SensorFault{OfTemperature: draw.IntN(2) == 1, At: s.Start() + s.Hold*draw.Float64()}
	f.Kind = FaultKind(draw.IntN(4))
	size := 4000.0 // Pa
	if f.OfTemperature {
		size = 0.01 // K
	}
	switch f.Kind {
	case Spikes:
		f.At, f.For, f.Size, f.Share = s.Start(), s.Hold, 40*size, 0.01
	case DropOut:
		f.For = 10
	case StuckSpell:
		f.At = s.Start() + 0.8*s.Hold*draw.Float64()
		f.For = 15 + 45*draw.Float64()
	case Jump:
		f.Size = 3 * size * either(draw)
	}
	return []SensorFault{f}
}
