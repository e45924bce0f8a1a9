package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/series"
)

// scene is a bench whose temperature does something, with all that is drawn
// from what is claimed of it. Times from t0, 600 s of record before it.
type scene struct {
	duration, interval float64
	leak               float64 // Pa/s
	b                  float64 // true coefficient
	// bench is the temperature around; probes and liquid are made of it.
	bench  func(t float64) float64
	probes []func(t float64) float64
	liquid func(t float64) float64

	noise, probeNoise, probeStep float64
	known                        Characterised
}

const beforeScene = 600.0

// input records the scene.
func (s scene) input(random *rand.Rand) Input {
	in := Input{Start: beforeScene, End: beforeScene + s.duration, Locked: beforeScene / 2, Known: s.known}
	at := func(from float64, f func(t float64) float64) series.Column {
		return sampled(from, in.End, s.interval, func(t float64) float64 { return f(t - beforeScene) })
	}
	level := s.liquid(0)
	in.Pressure = at(beforeScene, func(t float64) float64 {
		return 100*bar - s.leak*t + s.b*(s.liquid(t)-level) + s.noise*random.NormFloat64()
	})
	for k, probe := range s.probes {
		c := at(0, func(t float64) float64 {
			v := probe(t) + s.probeNoise*random.NormFloat64()
			if s.probeStep > 0 {
				v = s.probeStep * math.Round(v/s.probeStep)
			}
			return v
		})
		meter := Thermometer{Resolution: s.probeStep, Low: math.NaN(), High: math.NaN()}
		if k == 0 {
			in.Temperature, in.Thermometer = c, meter
		} else {
			in.MoreProbes = append(in.MoreProbes, Probe{Column: c, Interval: s.interval, Thermometer: meter})
		}
	}
	return in
}

// followed is what follows f with a first-order lag (s), f having stood for
// long before the record.
func followed(f func(t float64) float64, lag, duration float64) func(t float64) float64 {
	const step = 0.5
	values := []float64{f(-beforeScene)}
	for t := -beforeScene; t < duration+step; t += step {
		keep, first, second := lagStep(step, lag)
		values = append(values, keep*values[len(values)-1]+first*f(t)+second*f(t+step))
	}
	return func(t float64) float64 {
		at := (t + beforeScene) / step
		i := min(max(int(at), 0), len(values)-2)
		return values[i] + (at-float64(i))*(values[i+1]-values[i])
	}
}

// heating heats for a third of the period and cools for the rest.
func heating(swing, period, phase float64) func(t float64) float64 {
	return func(t float64) float64 {
		x := math.Mod(t/period+phase+10, 1)
		if x < 1.0/3 {
			return 293 + swing*(3*x-0.5)
		}
		return 293 + swing*(1-1.5*(x-1.0/3)-0.5)
	}
}

// door opens at a share of the hold: the air falls at once and comes back.
func door(drop, at, back float64) func(t float64) float64 {
	return func(t float64) float64 {
		if t < at {
			return 293
		}
		return 293 - drop*(1-math.Exp(-(t-at)/20))*math.Exp(-(t-at)/back)
	}
}

var scenes = []struct {
	name string
	make func(random *rand.Rand) scene
}{
	{"sawtooth of a heating, 8 h", func(r *rand.Rand) scene {
		s := usual(r, 8*3600, 10)
		s.bench = heating(0.6, 1200, r.Float64())
		return s.still()
	}},
	{"sawtooth, coarse thermometer, 24 h", func(r *rand.Rand) scene {
		s := usual(r, 24*3600, 20)
		s.bench = heating(0.6, 1200, r.Float64())
		s.probeNoise, s.probeStep = 0.005, 0.1
		return s.still()
	}},
	{"sawtooth, liquid follows by 60 ± 10 s, 2 h", func(r *rand.Rand) scene {
		s := usual(r, 7200, 2)
		s.bench = heating(0.6, 1200, r.Float64())
		return s.lagging(r, 60, 10)
	}},
	{"sawtooth, probe follows by 60 ± 20 s, 2 h", func(r *rand.Rand) scene {
		s := usual(r, 7200, 2)
		s.bench = heating(0.6, 1200, r.Float64())
		return s.lagging(r, -60, 20)
	}},
	{"door opened, 2 h", func(r *rand.Rand) scene {
		s := usual(r, 7200, 2)
		s.bench = door(1, (0.2+0.6*r.Float64())*s.duration, 900)
		return s.still()
	}},
	{"door opened, liquid follows by 60 ± 20 s, 30 min", func(r *rand.Rand) scene {
		s := usual(r, 1800, 1)
		s.bench = door(1, (0.2+0.6*r.Float64())*s.duration, 600)
		return s.lagging(r, 60, 20)
	}},
	{"ramp read in steps of 0.1 K, 10 min", func(r *rand.Rand) scene {
		s := usual(r, 600, 0.5)
		level, rate := 293+0.1*r.Float64(), (2*r.Float64()-1)*3/3600
		s.bench = func(t float64) float64 { return level + rate*t }
		s.probeStep = 0.1
		return s.still()
	}},
	{"two probes disagree", func(r *rand.Rand) scene {
		s := usual(r, 1800, 1)
		one, other, share := 2*r.NormFloat64()/3600, 2*r.NormFloat64()/3600, r.Float64()
		s.probes = []func(t float64) float64{
			func(t float64) float64 { return 293 + one*t }, func(t float64) float64 { return 294 + other*t }}
		s.liquid = func(t float64) float64 { return (share*one + (1-share)*other) * t }
		return s
	}},
	{"warming relaxes", func(r *rand.Rand) scene {
		s := usual(r, 1200, 1)
		a, tau := 1+0.15*r.NormFloat64(), 240+30*r.NormFloat64()
		rate := r.NormFloat64() / 3600
		s.probes = []func(t float64) float64{func(t float64) float64 { return 293 + rate*t }}
		s.liquid = func(t float64) float64 { return 293 + rate*t + a*math.Exp(-(t+beforeScene/2)/tau) }
		s.known.Warming = &Warming{Amplitude: *exactly(1, 0.15), TimeConstant: *exactly(240, 30)}
		return s
	}},
	{"nothing characterised, swings", func(r *rand.Rand) scene {
		s := usual(r, 3600, 1)
		s.b = (3 + 7*r.Float64()) * bar
		s.known.ThermalCoefficient = nil
		s.known.Lag = exactly(0, 10)
		phase := r.Float64()
		s.bench = func(t float64) float64 {
			return 293 + 0.3*math.Sin(2*math.Pi*(t/1500+phase)) + 0.4*t/3600
		}
		return s.lagging(r, 0, 10)
	}},
	{"nothing characterised, only a ramp", func(r *rand.Rand) scene {
		s := usual(r, 1800, 1)
		s.b = (3 + 7*r.Float64()) * bar
		s.known.ThermalCoefficient = nil
		rate := (0.5 + r.Float64()) / 3600
		s.bench = func(t float64) float64 { return 293 + rate*t }
		return s.still()
	}},
	{"poorly characterised, swings", func(r *rand.Rand) scene {
		s := usual(r, 7200, 2)
		s.b = (5 + r.NormFloat64()) * bar
		s.known.ThermalCoefficient = exactly(5*bar, bar)
		phase := r.Float64()
		s.bench = func(t float64) float64 {
			return 293 + 0.3*math.Sin(2*math.Pi*(t/2400+phase)) + 0.8*t/3600
		}
		return s.still()
	}},
	{"characterised, a ramp", func(r *rand.Rand) scene {
		s := usual(r, 300, 0.1)
		s.b = (5 + 0.5*r.NormFloat64()) * bar
		s.known.ThermalCoefficient = exactly(5*bar, 0.5*bar)
		s.bench = func(t float64) float64 { return 293 + 3*t/3600 }
		return s.still()
	}},
}

// usual is a bench with 5 ± 0.25 bar/K, 10 mbar and 20 mK of noise.
func usual(random *rand.Rand, duration, interval float64) scene {
	return scene{
		duration: duration, interval: interval, leak: 0.3 * bar / 60 * 300 / duration,
		b: (5 + 0.25*random.NormFloat64()) * bar, noise: 0.010 * bar, probeNoise: 0.020,
		known: Characterised{ThermalCoefficient: exactly(5*bar, 0.25*bar), Lag: exactly(0, 0)},
	}
}

// still: probe and liquid are what the bench is.
func (s scene) still() scene {
	s.probes, s.liquid = []func(t float64) float64{s.bench}, s.bench
	return s
}

// lagging: liquid and probe are apart by a lag drawn from what is claimed.
func (s scene) lagging(random *rand.Rand, lag, u float64) scene {
	s.known.Lag = exactly(lag, u)
	truth := lag + u*random.NormFloat64()
	s = s.still()
	behind := followed(s.bench, math.Abs(truth), s.duration)
	if truth > 0 {
		s.liquid = behind
	} else {
		s.probes = []func(t float64) float64{behind}
	}
	return s
}

// The 95 % interval of the decay rate holds the true one in about 95 % of
// holds in every scene, under 90 % in none. Seeds 0 … n−1; a share of 95 % of
// 40 has a standard error of 3.4 %. Of 200 the shares are 94 to 100 %, and the
// errors 0.3 to 1.02 of what is claimed: where temperature swings over many
// cycles the claim is the wider one.
func TestCoverageOverTemperatureScenes(t *testing.T) {
	t.Parallel()
	seeds := 40
	if raceDetector {
		seeds = 10
	}
	for _, k := range scenes {
		t.Run(k.name, func(t *testing.T) {
			inside, learned, sumU, bias, square := 0, 0, 0.0, 0.0, 0.0
			for seed := range uint64(seeds) {
				random := rand.New(rand.NewPCG(seed, 2718))
				s := k.make(random)
				r := Fit(s.input(random), Options{})
				rate := r.Estimates["decay_rate"]
				low, high := rate.Interval(0.95)
				if low <= s.leak && s.leak <= high {
					inside++
				}
				if r.Diagnostics.LearnedCoefficient {
					learned++
				}
				square += math.Pow((rate.Value-s.leak)/rate.StdUncertainty, 2) / float64(seeds)
				sumU += rate.StdUncertainty * s.duration / float64(seeds)
				bias += (rate.Value - s.leak) * s.duration / float64(seeds)
			}
			t.Logf("%s: covered %d of %d, mean u of the drop %.4f bar, bias %.4f bar, error over u %.2f (rms), B learned in %d", k.name, inside, seeds, sumU/bar, bias/bar, math.Sqrt(square), learned)
			assert.GreaterOrEqual(t, float64(inside), 0.9*float64(seeds))
		})
	}
}
