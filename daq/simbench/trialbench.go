package simbench

import (
	"math"
	"math/rand/v2"
)

// What the simulated liquids, hoses and walls are made of. Invented for the
// study, within what brake fluids and oils show.
const (
	trialTemperature  = 295.15 // K
	trialBulkModulus  = 1.5e9  // Pa
	trialBulkByPress  = 10.0   // Pa/Pa
	trialLiquidShare  = 0.1
	trialHoseShare    = 0.3
	trialHoseStiffens = 0.4
	trialCreepBegin   = 6.0 // s
	trialViscosity    = 0.025
	quickestLiquid    = 8.0  // s, of the liquid to the body
	trialWander       = 0.15 // K, of the room
)

// nature is what one bench is, in standard uncertainties off what is stated
// of it; it keeps it in every scene and test.
type nature struct {
	coefficient, stiffness, lag, amplitude, settling, creep, warming float64
	gain, offset, drift, temperatureGain, temperatureDrift, gas      float64
	hoses                                                            float64
}

func natureOf(seed uint64, bench int) nature {
	draw := rand.New(rand.NewPCG(seed, mixed(uint64(bench), 0x6e61747572650000)))
	var n nature
	for _, z := range []*float64{
		&n.coefficient, &n.stiffness, &n.lag, &n.amplitude, &n.settling, &n.creep, &n.warming,
		&n.gain, &n.offset, &n.drift, &n.temperatureGain, &n.temperatureDrift, &n.gas, &n.hoses,
	} {
		*z = draw.NormFloat64()
	}
	return n
}

// mixed makes one well-spread number of several (the finaliser of
// SplitMix64, Steele, Lea and Flood 2014, mark M).
func mixed(all ...uint64) uint64 {
	var h uint64
	for _, x := range all {
		h += x + 0x9e3779b97f4a7c15
		h = (h ^ (h >> 30)) * 0xbf58476d1ce4e5b9
		h = (h ^ (h >> 27)) * 0x94d049bb133111eb
		h ^= h >> 31
	}
	return h
}

// Try simulates one test of one bench in a scene, with a leak such that what
// the limit is on truly is leak times the limit, as far as the settling alone
// leaves room for it. The same arguments give the same test.
func (s Scene) Try(leak float64, seed uint64, bench, test int) Tried {
	draw := rand.New(rand.NewPCG(seed, mixed(uint64(bench), uint64(test), math.Float64bits(leak), hashed(s.Name))))
	t := s.trial(natureOf(seed, bench), draw)
	s.setLeak(&t, leak*s.Limit)
	return t.Run(draw)
}

func hashed(name string) uint64 {
	var h uint64
	for _, c := range []byte(name) {
		h = mixed(h, uint64(c))
	}
	return h
}

// setLeak finds the leak with which the judged rate is the wanted one, Pa/s.
func (s Scene) setLeak(t *Trial, want float64) {
	settling, _ := t.Losses()
	if s.Quantity == "leak_rate" {
		settling = 0
	}
	want -= settling
	if want <= 0 {
		return
	}
	t.Leak.Rate = want
	for range 2 {
		decay, leaked := t.Losses()
		if s.Quantity == "leak_rate" {
			decay = leaked
		}
		got := decay - settling
		t.Leak.Rate *= want / got
	}
}

// trial is a bench's truth in a scene, for one test.
func (s Scene) trial(n nature, draw *rand.Rand) Trial {
	st := s.Stated
	t := Trial{Schedule: s.Schedule}
	t.Volume = Volume{
		ThermalCoefficient: st.ThermalCoefficient.draw(n.coefficient),
		Stiffness:          st.Stiffness.draw(n.stiffness),
		HoseShare:          clipped(trialHoseShare+0.1*n.hoses, 0.05, 0.6), HoseStiffening: trialHoseStiffens,
		BulkModulus: trialBulkModulus, BulkModulusByPressure: trialBulkByPress,
	}
	liquidTime := math.Max(st.Lag.draw(n.lag)+s.ProbeTime, quickestLiquid)
	t.Heat = Heat{
		Room: s.roomOf(draw), LiquidTime: liquidTime, BodyTime: s.BodyTime,
		ProbeTime: s.ProbeTime, LiquidShare: trialLiquidShare,
	}
	atLocking := remaining(s.Schedule, liquidTime)
	t.Heat.Compression = math.Max(st.Warming.draw(n.warming), 0) / (s.Schedule.TestPressure * atLocking)
	s.settle(&t, n)
	t.Leak = Leak{Reference: trialTemperature, Power: 1, ByTemperature: trialViscosity}
	if draw.Float64() < 0.3 {
		t.Leak.Power = 0.5
	}
	t.Pressure, t.Temperature = s.sensors(n, draw)
	if s.faults != nil {
		t.Faults = s.faults(s.Schedule, draw)
	}
	return t
}

// settle gives the trial its settling and gas: what is stated is what is left
// at the instant of locking.
func (s Scene) settle(t *Trial, n nature) {
	st := s.Stated
	t.Creep = Creep{PerDecade: math.Max(st.Creep.draw(n.creep), 0), Begin: trialCreepBegin}
	tau := math.Max(st.SettlingTime.draw(n.settling), st.SettlingTime.Value/4)
	if s.gas.Value > 0 {
		t.Volume.Gas, t.Volume.GasTime = math.Max(s.gas.draw(n.gas), 0), tau
		return
	}
	if st.SettlingAmplitude.Value > 0 {
		a := math.Max(st.SettlingAmplitude.draw(n.amplitude), 0)
		t.Creep.Exponential = []Settling{{Amplitude: a / remaining(s.Schedule, tau), TimeConstant: tau}}
	}
}

// remaining is the share of a first-order relaxation, driven steadily while
// the pump ran, that is left at the instant of locking.
func remaining(c Schedule, tau float64) float64 {
	left := 1.0
	if c.Pump > 0 {
		left = -math.Expm1(-c.Pump/tau) * tau / c.Pump
	}
	return left * math.Exp(-c.Open/tau)
}

// sensors draws the noise of one test: from quiet to noisy instruments, whose
// correlated part lasts for some readings to many.
func (s Scene) sensors(n nature, draw *rand.Rand) (pressure, temperature TrialSensor) {
	st, interval := s.Stated, s.Schedule.Interval
	level := between(draw, 600, 4000) * s.quiet
	pressure = TrialSensor{
		White: level, Correlated: level, Slow: level / 5, CorrelationTime: between(draw, 0.5, 8) * interval,
		Gain: st.Gain * n.gain, Offset: st.Offset * n.offset, Drift: st.Drift * n.drift, Step: st.Resolution,
	}
	level = between(draw, 0.001, 0.02) * s.quiet
	temperature = TrialSensor{
		White: level, Correlated: level / 3, Slow: level / 10, CorrelationTime: between(draw, 0.5, 4) * interval,
		Gain: st.TemperatureGain * n.temperatureGain, Zero: trialTemperature, Drift: st.TemperatureDrift * n.temperatureDrift,
		Step: st.TemperatureResolution,
	}
	return pressure, temperature
}

// between draws evenly by ratio, 0 < low < high.
func between(draw *rand.Rand, low, high float64) float64 {
	return low * math.Pow(high/low, draw.Float64())
}

// roomOf is the room over the time since the recording's start: what the
// scene says, and a slow wander that every hall has.
func (s Scene) roomOf(draw *rand.Rand) func(t float64) float64 {
	still := wandering(draw)
	if s.room == nil {
		return func(t float64) float64 { return trialTemperature + still(t) }
	}
	of, start := s.room(draw), s.Schedule.Start()
	return func(t float64) float64 { return trialTemperature + still(t) + of(t-start) }
}

// wandering is a sum of slow waves of the air, K.
func wandering(draw *rand.Rand) func(t float64) float64 {
	const waves = 3
	var angle, turn [waves]float64
	for k := range waves {
		angle[k], turn[k] = 2*math.Pi*draw.Float64(), 2*math.Pi/between(draw, 120, 1200)
	}
	return func(t float64) (sum float64) {
		for k := range waves {
			sum += trialWander * math.Sin(angle[k]+turn[k]*t)
		}
		return sum
	}
}

func clipped(x, low, high float64) float64 { return math.Max(low, math.Min(high, x)) }
