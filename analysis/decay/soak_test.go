package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// soak is a hold of days in a room that is warm by day and cold by night; what
// is not known exactly is drawn anew for each.
type soak struct {
	hours              float64
	leak               float64 // Pa/s
	u                  float64 // of the thermal coefficient, share
	drift, effect, lag float64 // standard uncertainties: Pa/s, Pa/K, s
	zeros              bool
	phi                float64
}

func (s soak) input(seed uint64) Input {
	r := rand.New(rand.NewPCG(seed, 59))
	end := s.hours * 3600
	b := 5 * bar * (1 + s.u*r.NormFloat64())
	drift, effect := s.drift*r.NormFloat64(), s.effect*r.NormFloat64()
	lag := max(0, 1200+s.lag*r.NormFloat64())
	phase := 2 * math.Pi * r.Float64()
	const day = 2 * math.Pi / 86400
	room := func(t float64) float64 { return 293 + 2*math.Sin(day*t+phase) }
	// The liquid follows the room with its lag, long since in swing.
	liquid := func(t float64) float64 {
		return 293 + 2/math.Hypot(1, day*lag)*math.Sin(day*t+phase-math.Atan(day*lag))
	}
	in := Input{
		Start: 7200, End: 7200 + end, Locked: 3600,
		Transducer: Transducer{Drift: s.drift, TemperatureEffect: s.effect},
		Known: Characterised{
			ThermalCoefficient: exactly(5*bar, 5*bar*s.u),
			Lag:                exactly(1200, s.lag),
		},
	}
	noise := 0.0
	in.Pressure = sampled(0, in.End, 60, func(t float64) float64 {
		noise = s.phi*noise + math.Sqrt(1-s.phi*s.phi)*r.NormFloat64()
		return 100*bar - s.leak*(t-7200) + b*(liquid(t)-293) + drift*t + effect*(room(t)-293) + 1000*noise
	})
	in.Temperature = sampled(0, in.End, 60, func(t float64) float64 { return room(t) + 0.01*r.NormFloat64() })
	in.Ambient = sampled(0, in.End, 600, func(t float64) float64 { return room(t) + 0.1*r.NormFloat64() })
	if s.zeros {
		zero := func(t float64) Zero {
			const u = 200
			return Zero{At: t, Value: uncertainty.Estimate{Value: drift*t + u*r.NormFloat64(), StdUncertainty: u, DegreesOfFreedom: 20, Quantity: si.Pressure}}
		}
		in.Zeros = &Zeros{Before: zero(0), After: zero(in.End)}
	}
	return in
}

// Over many soaks the interval of the decay rate holds the true one. Own
// simulation (mark C).
func TestSoaksCoverTheTrueRate(t *testing.T) {
	const runs = 40
	barPerHour := bar / 3600
	for name, s := range map[string]soak{
		"a day":                  {hours: 24, u: 0.04, lag: 200},
		"a day and a half":       {hours: 36, u: 0.04, lag: 200},
		"half a day":             {hours: 12, u: 0.04, lag: 200},
		"three days, correlated": {hours: 72, u: 0.04, lag: 200, phi: 0.9},
		"drift":                  {hours: 24, u: 0.04, lag: 200, drift: 0.05 * barPerHour},
		"drift, zero read":       {hours: 24, u: 0.04, lag: 200, drift: 0.05 * barPerHour, zeros: true},
		"temperature effect":     {hours: 12, u: 0.01, lag: 200, effect: 0.2 * bar},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s.leak = 0.05 * barPerHour
			inside, jumps, width := 0, 0, 0.0
			for seed := range uint64(runs) {
				r := Fit(s.input(seed), Options{})
				e := r.Estimates["decay_rate"]
				low, high := e.Interval(0.95)
				if low <= s.leak && s.leak <= high {
					inside++
				}
				width += e.StdUncertainty / barPerHour / runs
				jumps += len(r.Diagnostics.Jumps)
			}
			t.Logf("%d of %d inside, u %.2g bar/h", inside, runs, width)
			assert.GreaterOrEqual(t, inside, 35)
			assert.LessOrEqual(t, jumps, 1)
		})
	}
}

// What a drift of a steady transducer leaves does not fall with the time, and
// a zero read before and after takes it off.
func TestDriftGrowsWithTime(t *testing.T) {
	s := soak{hours: 24, drift: 100}
	in := s.input(1)
	e := Fit(in, Options{}).Estimates
	assert.InEpsilon(t, 100*24*3600, budgetLine(t, e["drop"], SourceDrift), 0.01)
	assert.InEpsilon(t, 100, budgetLine(t, e["decay_rate"], SourceDrift), 0.01)
}
