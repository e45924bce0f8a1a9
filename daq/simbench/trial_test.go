package simbench

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// bareTrial has a stiff volume in a room that stands still, and perfect
// sensors.
func bareTrial() Trial {
	return Trial{
		Schedule: Schedule{Before: 10, Pump: 0.5, Open: 0.5, Wait: 60, Hold: 300, Interval: 1, Step: 0.5, TestPressure: 100e5},
		Volume:   Volume{ThermalCoefficient: 4.5e5, Stiffness: 3e12, BulkModulus: 1e15},
		Heat:     Heat{Room: func(float64) float64 { return trialTemperature }, LiquidTime: 20, BodyTime: 900, ProbeTime: 5, LiquidShare: 0.1},
		Leak:     Leak{Reference: trialTemperature, Power: 1},
	}
}

func run(t Trial) Tried { return t.Run(rand.New(rand.NewPCG(1, 1))) }

func startAndEnd(r Tried) (start, end float64) {
	return r.PressureReading[int(r.Start()/r.Interval)], r.PressureReading[len(r.Time)-1]
}

// A tight, stiff circuit in a room that stands still keeps its pressure.
func TestTrialAtRestKeepsItsPressure(t *testing.T) {
	r := run(bareTrial())
	start, end := startAndEnd(r)
	assert.InDelta(t, 100e5, start, 1)
	assert.InDelta(t, start, end, 1e-3)
	assert.Zero(t, r.DecayRate)
	assert.Zero(t, r.LeakRate)
}

// A laminar leak out of a constant compliance is exponential: law.
func TestTrialLaminarLeakIsExponential(t *testing.T) {
	b := bareTrial()
	b.Leak.Rate = 0.2e5 / 60
	r := run(b)
	start, end := startAndEnd(r)
	lambda := b.Leak.Rate / b.Schedule.TestPressure
	assert.InEpsilon(t, start*math.Exp(-lambda*b.Schedule.Hold), end, 1e-6)
	assert.InEpsilon(t, (start-end)/b.Schedule.Hold, r.LeakRate, 1e-6)
	assert.Equal(t, r.LeakRate, r.DecayRate)
}

// An orifice's leak falls with the root of the pressure: √p is a straight
// line.
func TestTrialOrificeLeakIsStraightInTheRoot(t *testing.T) {
	b := bareTrial()
	b.Leak.Rate, b.Leak.Power = 1e5/60, 0.5
	start, end := startAndEnd(run(b))
	slope := b.Leak.Rate / (2 * math.Sqrt(b.Schedule.TestPressure))
	assert.InEpsilon(t, math.Sqrt(start)-slope*b.Schedule.Hold, math.Sqrt(end), 1e-6)
}

// Heat is conserved and temperature moves pressure by the coefficient: the
// true rates and the thermal part make up the measured drop.
func TestTrialAccountsForItsDrop(t *testing.T) {
	for _, s := range Scenes {
		b := s.trial(nature{coefficient: 1, lag: 1}, rand.New(rand.NewPCG(3, 4)))
		b.Pressure, b.Temperature, b.Faults = TrialSensor{}, TrialSensor{}, nil
		b.Leak.Rate = s.Limit
		r := run(b)
		start, end := startAndEnd(r)
		thermal := b.Volume.ThermalCoefficient * r.LiquidChange
		lost := r.DecayRate * b.Schedule.Hold
		// The coefficient is that at the test pressure; it changes by less
		// than 3 % over the pressures of a hold (6 % of a long one).
		assert.InDelta(t, start-end, lost-thermal, 0.06*math.Abs(thermal)+0.02e5, s.Name)
		assert.LessOrEqual(t, r.LeakRate, r.DecayRate, s.Name)
		assert.Greater(t, r.LeakRate, 0.0, s.Name)
		decay, leak := r.Until(r.End())
		assert.InEpsilon(t, r.DecayRate, decay, 1e-9, s.Name)
		assert.InEpsilon(t, r.LeakRate, leak, 1e-9, s.Name)
		early, _ := r.Until(r.Start() + r.Hold/5)
		assert.Greater(t, early, decay*0.98, "%s: settling slows", s.Name)
	}
}

// The leak is such that what is judged truly is what the cell says.
func TestTrialLeakIsAsTheCellSays(t *testing.T) {
	for _, s := range Scenes {
		for _, leak := range []float64{0.5, 1.1, 2} {
			r := s.Try(leak, 7, 3, 0)
			got := r.DecayRate
			if s.Quantity == "leak_rate" {
				got = r.LeakRate
			}
			if r.LeakRate > 0 {
				assert.InDelta(t, leak, got/s.Limit, 0.02, "%s %g", s.Name, leak)
			}
		}
	}
}

// Gas that goes into solution costs its volume, whatever the time it takes.
func TestTrialGasCostsItsVolume(t *testing.T) {
	b := bareTrial()
	b.Volume.Gas, b.Volume.GasTime = 0.012, 5
	b.Schedule.Wait = 0
	start, end := startAndEnd(run(b))
	assert.InEpsilon(t, 0.012*(b.Schedule.TestPressure+ambient), start-end, 0.03)
}

// What is stated of settling, warmth and gas is what is left when the circuit
// is locked: a nominal bench without a leak settles as its stated exponential
// and creep do.
func TestTrialSettlesAsStated(t *testing.T) {
	for _, name := range []string{"steady", "settling", "air"} {
		s := sceneNamed(name)
		b := s.trial(nature{}, rand.New(rand.NewPCG(1, 1)))
		rate, leak := b.Losses()
		st, wait, hold := s.Stated, s.Schedule.Wait, s.Schedule.Hold
		want := st.SettlingAmplitude.Value*(math.Exp(-wait/st.SettlingTime.Value)-math.Exp(-(wait+hold)/st.SettlingTime.Value)) +
			st.Creep.Value*math.Log10((wait+hold)/wait)
		assert.Zero(t, leak)
		assert.InDelta(t, want, rate*hold, 0.05*want+0.002e5, name)
	}
}

func sceneNamed(name string) Scene {
	for _, s := range Scenes {
		if s.Name == name {
			return s
		}
	}
	panic("simbench: no scene " + name)
}

// The same arguments give the same test, others another.
func TestTrialIsTheSameAgain(t *testing.T) {
	s := sceneNamed("faults")
	a, b := s.Try(0.5, 1, 2, 3), s.Try(0.5, 1, 2, 3)
	assert.Equal(t, a.Time, b.Time)
	for i := range a.Time {
		assert.Equal(t, math.Float64bits(a.PressureReading[i]), math.Float64bits(b.PressureReading[i]))
	}
	assert.NotEqual(t, a.PressureReading[100], s.Try(0.5, 1, 2, 4).PressureReading[100])
	assert.NotEqual(t, a.PressureReading[100], s.Try(0.5, 2, 2, 3).PressureReading[100])
}

// Noise has the deviation and the correlation that it says.
func TestTrialNoiseIsAsStated(t *testing.T) {
	x := TrialSensor{Correlated: 2, CorrelationTime: 5}
	n := 200000
	at, v := make([]float64, n), make([]float64, n)
	for i := range at {
		at[i] = float64(i)
	}
	x.read(at, v, 0, rand.New(rand.NewPCG(5, 6)))
	var square, next float64
	for i := 1; i < n; i++ {
		square += v[i] * v[i]
		next += v[i] * v[i-1]
	}
	assert.InEpsilon(t, 2, math.Sqrt(square/float64(n-1)), 0.03)
	assert.InDelta(t, math.Exp(-1.0/5), next/square, 0.01)
}

// Faults do what they are called.
func TestTrialFaults(t *testing.T) {
	for kind, seen := range map[FaultKind]func(r Tried) bool{
		DropOut:    func(r Tried) bool { return math.IsNaN(r.PressureReading[80]) && !math.IsNaN(r.PressureReading[120]) },
		StuckSpell: func(r Tried) bool { return r.PressureReading[80] == r.PressureReading[95] },
		Jump:       func(r Tried) bool { return r.PressureReading[120]-r.PressureReading[60] > 0.9e5 },
		Spikes:     func(r Tried) bool { return math.Abs(r.PressureReading[90]-r.PressureReading[60]) > 0.4e5 },
	} {
		b := bareTrial()
		b.Pressure.White = 10
		b.Faults = []SensorFault{{Kind: kind, At: 75, For: 25, Size: 1e5, Share: 1}}
		assert.True(t, seen(run(b)), "fault %d", kind)
	}
}
