package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The budget against propagation of distributions: every input of one hold is
// drawn from what is claimed of it, the hold is recorded and fitted anew with
// the characterised values, and the results scatter about the truth as the
// budget says. It has a bending temperature, a lag, settling, gain, drift and
// noise on both readings.
//
// Source: JCGM 101:2008, clause 7 (mark M); the figures are our own.
func TestBudgetAgreesWithMonteCarlo(t *testing.T) {
	const trials = 600
	random := rand.New(rand.NewPCG(101, 2008))
	known := Characterised{
		ThermalCoefficient: exactly(5*bar, 0.2*bar), Lag: exactly(-30, 8),
		Settling:  &Settling{Amplitude: *exactly(0.8*bar, 0.08*bar), TimeConstant: *exactly(150, 15)},
		Stiffness: exactly(20*bar/1e-6, 1*bar/1e-6),
	}
	draw := func(value, u float64) float64 { return value + u*random.NormFloat64() }
	const leak = 400.0
	names := []string{"decay_rate", "leak_rate", "leak_flow", "drop", "pressure_after", "settling"}
	square, claimed := map[string]float64{}, map[string]float64{}
	for range trials {
		b := draw(5*bar, 0.2*bar)
		amplitude, tau := draw(0.8*bar, 0.08*bar), draw(150, 15)
		lag := draw(30, 8)
		stiffness := draw(20*bar/1e-6, 1*bar/1e-6)
		gain, drift := draw(1, 2e-3), draw(0, 5)
		settled := func(t float64) float64 { return lost(amplitude, tau, 50, 50+t) }
		// The liquid; the probe follows it by the lag.
		liquid := func(t float64) float64 { return 293 + 1.5e-3*t - 1.5e-6*t*t }
		probe := func(t float64) float64 {
			return 293 + 1.5e-3*(t-lag) - 1.5e-6*(t*t-2*lag*t+2*lag*lag)
		}
		in := Input{Start: 100, End: 400, Locked: 50, Known: known, Transducer: Transducer{Gain: 2e-3, Drift: 5, Offset: 3000}}
		offset := draw(0, 3000)
		in.Temperature = sampled(0, 400, 0.5, func(t float64) float64 { return draw(probe(t-100), 0.02) })
		in.Pressure = sampled(0, 400, 0.25, func(t float64) float64 {
			t -= 100
			p := 100*bar - leak*t - settled(t) + b*(liquid(t)-liquid(0))
			return draw(offset+gain*p+drift*t, 1000)
		})
		total := settled(300)
		truth := map[string]float64{
			"decay_rate": leak + total/300, "leak_rate": leak, "leak_flow": leak / stiffness,
			"drop": 300*leak + total, "pressure_after": 100*bar - 600*leak - settled(600), "settling": total,
		}
		e := Fit(in, Options{After: []float64{600}}).Estimates
		for _, name := range names {
			d := e[name].Value - truth[name]
			square[name] += d * d / trials
			claimed[name] += e[name].StdUncertainty * e[name].StdUncertainty / trials
		}
	}
	for _, name := range names {
		seen, said := math.Sqrt(square[name]), math.Sqrt(claimed[name])
		t.Logf("%-15s seen %.4g, claimed %.4g", name, seen, said)
		assert.InEpsilon(t, seen, said, 0.12, name)
	}
}
