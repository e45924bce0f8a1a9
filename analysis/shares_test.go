package analysis

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// sharesBench is a bench of which one thing or everything is in doubt.
type sharesBench struct {
	noise, uB, uLag, drift, gain float64
}

// hold is one test on one bench drawn from what is stated of them: a unit that
// loses at a steady rate while the liquid warms and comes to rest.
func (b sharesBench) hold(seed uint64, rate float64, limit verdict.Limit) (made, Hold) {
	random := rand.New(rand.NewPCG(seed, 9))
	const change, duration = 0.3, 240.0
	lag := b.uLag * random.NormFloat64()
	probe := func(t float64) float64 {
		x := t / duration
		return 293.15 + change*(2*x-x*x)
	}
	// A line of the course's own carries the lag exactly: T_f(t) = T(t − lag).
	liquid := func(t float64) float64 { return probe(t - lag) }
	m := made{
		seed: seed, before: 100, duration: duration, interval: 1, tempInterval: 2, start: 100 * bar,
		leak: rate, b: 5*bar + b.uB*random.NormFloat64(), temp: liquid, noise: b.noise,
		prior: normal(5*bar, b.uB, si.ThermalCoefficient), limits: []verdict.Limit{limit},
	}
	drift, gain := b.drift*random.NormFloat64(), b.gain*random.NormFloat64()
	m.add = func(t float64) float64 { return drift*t + gain*(-rate*t) }
	h := m.hold()
	m.temp, m.tempNoise, m.seed = probe, 0.001, seed+1<<40
	h.Temperature = m.hold().Temperature
	h.Transducer.Drift, h.Transducer.Gain = b.drift, b.gain
	h.Characterised.Lag = normal(0, b.uLag, si.Time)
	return m, h
}

func (b sharesBench) prospect() Prospect {
	return Prospect{
		Duration: 240, SinceLock: 50, TestPressure: 100 * bar, Noise: b.noise, Readings: 241, TemperatureNoise: 0.001, TemperatureReadings: 121,
		TemperatureChange: 0.3, Transducer: Transducer{Drift: b.drift, Gain: b.gain},
		Known: decay.Characterised{ThermalCoefficient: normal(5*bar, b.uB, si.ThermalCoefficient), Lag: normal(0, b.uLag, si.Time)},
	}
}

// What a plan says beforehand of PASS and FAIL is what simulated holds get when
// they are judged: over benches drawn from their priors, within three standard
// deviations of the count.
func TestSharesAgreeWithSimulatedHolds(t *testing.T) {
	t.Parallel()
	holds := 80
	if raceDetector {
		holds = 30
	}
	for name, b := range map[string]sharesBench{
		"noise":               {noise: 0.15 * bar, uLag: 0},
		"thermal coefficient": {noise: 0.005 * bar, uB: 0.2 * bar},
		"everything":          {noise: 0.03 * bar, uB: 0.1 * bar, uLag: 4, drift: 60, gain: 0.02},
	} {
		t.Run(name, func(t *testing.T) {
			limit := decayRate(1)
			limit.Value = 3 * outlook(t, b.prospect(), limit).StdUncertainty
			o := outlook(t, b.prospect(), limit)
			for k, multiple := range []float64{0.2, 0.6, 1.5} {
				var passed, failed float64
				for i := range holds {
					_, h := b.hold(uint64(1000*k+i), multiple*limit.Value, limit)
					a := Assess(h)
					require.True(t, a.Valid || multiple < 0.5, a.Reasons)
					switch a.Verdict {
					case verdict.Pass:
						passed++
					case verdict.Fail:
						failed++
					}
				}
				s := o.Share(multiple)
				t.Logf("%g × limit: PASS %.3f seen, %.3f planned; FAIL %.3f seen, %.3f planned", multiple, passed/float64(holds), s.Pass, failed/float64(holds), s.Fail)
				for _, c := range []struct{ want, got float64 }{{s.Pass, passed}, {s.Fail, failed}} {
					assert.InDelta(t, c.want, c.got/float64(holds), 3*math.Sqrt(max(c.want*(1-c.want), 1/float64(holds))/float64(holds)), "%g × limit", multiple)
				}
			}
		})
	}
}
