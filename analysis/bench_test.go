package analysis

import (
	"math"
	"testing"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// A hold of 5 min: 3000 pressure and 1500 temperature readings, and 100 s of
// recording before.
func BenchmarkAssess5min10Hz(b *testing.B) {
	m := noisyThermometer(1)
	m.tempInterval = 0.2
	m.limits = []verdict.Limit{{Quantity: "decay_rate", Value: 0.2 * barPerMin}}
	h := m.hold()
	b.ResetTimer()
	for b.Loop() {
		Assess(h)
	}
}

// The same with everything characterised: lag, settling, stiffness, creep,
// warmth after pressurising, viscosity.
func BenchmarkAssessAllCharacterised(b *testing.B) {
	m := noisyThermometer(1)
	m.limits = []verdict.Limit{{Quantity: "leak_rate", Value: 0.2 * barPerMin}, {Quantity: "pressure_after", Bound: verdict.Min, Value: 90 * bar, After: 600}}
	m.add = func(t float64) float64 { return bar * math.Exp(-(t+50)/150) }
	h := m.hold()
	h.Characterised.Lag = normal(40, 5, si.Time)
	h.Characterised.Stiffness = normal(20*bar/1e-6, bar/1e-6, si.Stiffness)
	h.Characterised.Settling = &decay.Settling{Amplitude: *normal(bar, 0.1*bar, si.PressureChange), TimeConstant: *normal(150, 10, si.Time)}
	h.Characterised.Creep = normal(1000, 200, si.PressureChange)
	h.Characterised.Warming = &decay.Warming{Amplitude: *normal(0.01, 0.002, si.TemperatureDifference), TimeConstant: *normal(60, 10, si.Time)}
	h.Characterised.ViscosityChange = normal(-0.04, 0.005, si.Dimensionless)
	b.ResetTimer()
	for b.Loop() {
		Assess(h)
	}
}

// A day at 10 Hz: 864,001 readings of either kind.
func BenchmarkAssess24hAt10Hz(b *testing.B) {
	m := noisyThermometer(1)
	m.duration, m.leak, m.ramp = 86400, 0.001*barPerMin, 0
	m.limits = []verdict.Limit{{Quantity: "decay_rate", Value: 0.2 * barPerMin}}
	h := m.hold()
	b.ReportAllocs()
	for b.Loop() {
		Assess(h)
	}
}

// A day at 100 Hz: 8,640,001 readings of the pressure, the temperature at 1 Hz.
func BenchmarkAssess24hAt100Hz(b *testing.B) {
	m := noisyThermometer(1)
	m.duration, m.leak, m.ramp = 86400, 0.001*barPerMin, 0
	m.interval, m.tempInterval = 0.01, 1
	m.limits = []verdict.Limit{{Quantity: "decay_rate", Value: 0.2 * barPerMin}}
	h := m.hold()
	b.ReportAllocs()
	for b.Loop() {
		Assess(h)
	}
}
