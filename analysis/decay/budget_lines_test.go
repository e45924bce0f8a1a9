package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"holdbench/analysis/uncertainty"
)

// statedDoubts are the standard uncertainties that are stated of a hold's inputs, in
// SI.
type statedDoubts struct {
	noise, temperatureNoise                                  float64
	b, lag, amplitude, tau, stiffness                        float64
	gain, offset, drift, calibration, resolution             float64
	temperatureGain, temperatureDrift, temperatureResolution float64
	// of shares: slope of a tolerance class, by how much a cold junction moves in
	// a hold, K, and what was fed to a bridge, Pa
	class, junction, excitation float64
	// bDegrees are the degrees of freedom of u(B), 0: infinitely many.
	bDegrees float64
}

// drawn holds what the errors of one trial are, in standard uncertainties.
type drawn map[string]float64

const (
	trueB, trueLag, trueAmplitude, trueTau = 5 * bar, 20.0, 0.5 * bar, 150.0
	trueLeak, trueStiffness                = 0.25 * bar / 60, 20 * bar / 1e-6
	startAt, holdFor, lockedFor            = 100.0, 300.0, 60.0
)

// trial is a hold of a leak with these errors, fitted with what is stated, and
// the truth by the names of the estimates.
func (d statedDoubts) trial(z drawn, random *rand.Rand) (e map[string]Quantity, truth map[string]float64) {
	// The probe leads: the liquid follows it through the lag. What is stated
	// is what was characterised; the truth differs from it by z·u.
	b, lag := trueB+d.b*z["b"], trueLag+d.lag*z["lag"]
	amplitude, tau := trueAmplitude+d.amplitude*z["amplitude"], trueTau+d.tau*z["tau"]
	stiffness := trueStiffness + d.stiffness*z["stiffness"]
	probe := func(t float64) float64 { return 293 + 1.2e-3*t - 1.5e-6*t*t }
	liquid := func(t float64) float64 { // of a parabola the lagged one, long after its start
		return probe(t) - lag*(1.2e-3-3e-6*t) - 3e-6*lag*lag
	}
	settled := func(t float64) float64 { return lost(amplitude, tau, lockedFor, lockedFor+t) }
	u := d.b
	degrees := math.Inf(1)
	if d.bDegrees > 0 {
		degrees = d.bDegrees
		u *= z["scale"]
	}
	known := func(value, u float64) *uncertainty.Estimate { return exactly(value, u) }
	in := Input{
		Start: startAt, End: startAt + holdFor, Locked: startAt - lockedFor, TestPressure: 100 * bar,
		Transducer: Transducer{
			Gain: d.gain, Offset: d.offset, Drift: d.drift, Calibration: d.calibration, Resolution: d.resolution,
			Low: math.NaN(), High: math.NaN(), Shares: []Share{{Source: SourceExcitation, Shift: d.excitation}},
		},
		Thermometer: Thermometer{
			Shares: []Share{{Source: SourceToleranceClass, Gain: d.class}, {Source: SourceColdJunction, Shift: d.junction}},
			Gain:   d.temperatureGain, Drift: d.temperatureDrift, Resolution: d.temperatureResolution, Low: math.NaN(), High: math.NaN(),
		},
		Known: Characterised{
			ThermalCoefficient: &uncertainty.Estimate{Value: trueB, StdUncertainty: u, DegreesOfFreedom: degrees},
			Lag:                known(trueLag, d.lag), Stiffness: known(trueStiffness, d.stiffness),
			Settling: &Settling{Amplitude: *known(trueAmplitude, d.amplitude), TimeConstant: *known(trueTau, d.tau)},
		},
	}
	step := func(x, q, phase float64) float64 {
		if q == 0 {
			return x
		}
		return q * (math.Round(x/q+phase) - phase)
	}
	phase, warmPhase := random.Float64(), random.Float64()
	in.Pressure = sampled(startAt-lockedFor, in.End, 0.5, func(at float64) float64 {
		t := at - startAt
		p := 100*bar - trueLeak*t - settled(t) + b*(liquid(t)-liquid(0))
		p += d.gain*z["gain"]*p + d.offset*z["offset"] + d.calibration*z["calibration"] + d.drift*z["drift"]*t
		p += d.excitation * z["excitation"] * t / holdFor
		return step(p+d.noise*random.NormFloat64(), d.resolution, phase)
	})
	in.Temperature = sampled(startAt-1000, in.End, 2, func(at float64) float64 {
		t := at - startAt
		reading := probe(t) + d.temperatureGain*z["temperature gain"]*(probe(t)-probe(0)) + d.temperatureDrift*z["temperature drift"]*t
		reading += d.class*z["class"]*(probe(t)-probe(0)) + d.junction*z["junction"]*t/holdFor
		return step(reading+d.temperatureNoise*random.NormFloat64(), d.temperatureResolution, warmPhase)
	})
	total := settled(holdFor)
	truth = map[string]float64{
		"decay_rate": trueLeak + total/holdFor, "leak_rate": trueLeak, "leak_flow": trueLeak / stiffness,
		"pressure_end": 100*bar - trueLeak*holdFor - total + b*(liquid(holdFor)-liquid(0)),
		"settling":     total,
	}
	return Fit(in, Options{}).Estimates, truth
}

// scores are n standard normal numbers that stand for all of them: middles of
// equal shares, scaled to a variance of 1.
func scores(n int) []float64 {
	out, square := make([]float64, n), 0.0
	for i := range out {
		out[i] = distuv.UnitNormal.Quantile((float64(i) + 0.5) / float64(n))
		square += out[i] * out[i] / float64(n)
	}
	for i := range out {
		out[i] /= math.Sqrt(square)
	}
	return out
}

// spread compares the root mean square of estimate less truth with the root
// mean square of the stated u.
type spread struct{ square, claimed, n float64 }

func (s *spread) take(q Quantity, truth float64) {
	d := q.Value - truth
	s.square, s.claimed, s.n = s.square+d*d, s.claimed+q.StdUncertainty*q.StdUncertainty, s.n+1
}

func (s spread) seen() float64 { return math.Sqrt(s.square / s.n) }
func (s spread) said() float64 { return math.Sqrt(s.claimed / s.n) }

// Every line of the budget alone against propagation of distributions: only
// one input is in doubt, its true value drawn from what is stated of it, and
// the estimates scatter about the truth by the stated u. Lines of what is the
// same through the hold are drawn as scores, lines of scatter at random with
// four times the scatter's own error as tolerance. What a resolution leaves
// depends on how the reading sweeps its steps and is said of all sweeps: it may
// be less in one of them.
//
// Source: JCGM 101:2008, clause 7 (mark M); the figures are our own.
func TestEveryLineOfTheBudgetAlone(t *testing.T) {
	const little = 20.0 // Pa of noise, so that there is some
	for _, row := range []struct {
		name, source string
		doubts       statedDoubts
		quantities   []string
		within       float64
		random       bool
	}{
		{"b", SourceThermalCoefficient, statedDoubts{b: 0.4 * bar}, []string{"decay_rate", "leak_rate", "leak_flow"}, 0.06, false},
		{"lag", SourceLag, statedDoubts{lag: 5}, []string{"decay_rate", "leak_rate"}, 0.10, false},
		{"amplitude", SourceSettlingAmplitude, statedDoubts{amplitude: 0.1 * bar}, []string{"leak_rate", "leak_flow", "settling"}, 0.06, false},
		{"tau", SourceSettlingTime, statedDoubts{tau: 20}, []string{"leak_rate"}, 0.15, false},
		{"stiffness", SourceStiffness, statedDoubts{stiffness: 0.05 * trueStiffness}, []string{"leak_flow"}, 0.06, false},
		{"gain", SourceGain, statedDoubts{gain: 0.02}, []string{"decay_rate", "leak_rate", "pressure_end"}, 0.06, false},
		{"offset", SourceOffset, statedDoubts{offset: 5000}, []string{"pressure_end"}, 0.06, false},
		{"calibration", SourceCalibration, statedDoubts{calibration: 5000}, []string{"pressure_end"}, 0.06, false},
		{"drift", SourceDrift, statedDoubts{drift: 20}, []string{"decay_rate", "leak_rate", "pressure_end"}, 0.06, false},
		{"temperature gain", SourceTemperatureGain, statedDoubts{temperatureGain: 0.05}, []string{"decay_rate", "leak_rate"}, 0.10, false},
		{"temperature drift", SourceTemperatureDrift, statedDoubts{temperatureDrift: 5e-5}, []string{"decay_rate", "leak_rate"}, 0.10, false},
		{"class", SourceToleranceClass, statedDoubts{class: 0.05}, []string{"decay_rate", "leak_rate"}, 0.10, false},
		{"junction", SourceColdJunction, statedDoubts{junction: 0.02}, []string{"decay_rate", "leak_rate"}, 0.10, false},
		{"excitation", SourceExcitation, statedDoubts{excitation: 5000}, []string{"decay_rate", "leak_rate", "pressure_end"}, 0.06, false},
		{"noise", SourceNoise, statedDoubts{noise: 3000}, []string{"decay_rate", "leak_rate", "pressure_end"}, 0, true},
		{"temperature noise", SourceTemperatureReading, statedDoubts{temperatureNoise: 0.02, noise: 1000}, []string{"decay_rate", "leak_rate"}, 0, true},
		{"resolution", SourceResolution, statedDoubts{resolution: 0.2 * bar}, []string{"pressure_end"}, 0, true},
		{"resolution, of a slope", SourceResolution, statedDoubts{resolution: 0.5 * bar}, []string{"decay_rate", "leak_rate"}, 0, true},
		{"temperature resolution", SourceTemperatureResolution, statedDoubts{temperatureResolution: 0.1, temperatureNoise: 0.002}, []string{"decay_rate", "leak_rate"}, 0, true},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			random := rand.New(rand.NewPCG(101, 7))
			d := row.doubts
			if d.noise == 0 {
				d.noise = little
			}
			trials := scores(24)
			if row.random {
				trials = make([]float64, 80)
			}
			spreads := map[string]*spread{}
			for _, z := range trials {
				e, truth := d.trial(drawn{row.name: z}, random)
				for _, q := range row.quantities {
					require.Empty(t, e[q].Absent, q)
					if spreads[q] == nil {
						spreads[q] = &spread{}
					}
					spreads[q].take(e[q], truth[q])
					largest, _ := e[q].Budget.Largest()
					if !row.random && row.name != "tau" {
						assert.Equal(t, row.source, largest.Source, "%s: the line that is in doubt", q)
					}
				}
			}
			for _, q := range row.quantities {
				s := spreads[q]
				t.Logf("%-12s seen %.4g, said %.4g, ratio %.3f", q, s.seen(), s.said(), s.said()/s.seen())
				within := row.within
				if row.random {
					within = 4 / math.Sqrt(2*s.n)
				}
				if row.source == SourceResolution || row.source == SourceTemperatureResolution {
					// Said of all sweeps of the reading, not of this one.
					assert.Greater(t, s.said(), (1-within)*s.seen(), q)
					assert.Less(t, s.said(), 4*s.seen(), q)
					continue
				}
				assert.InEpsilon(t, s.seen(), s.said(), within, q)
			}
		})
	}
}

// All lines together, the largest of them known with 5 degrees of freedom only:
// the estimates scatter by the combined u, and intervals by the effective
// degrees of freedom hold the truth as often as they say, which those of a
// normal distribution do not.
//
// Source: JCGM 100:2008, eq. G.2b against JCGM 101:2008, clause 7 (mark M); the
// figures are our own.
func TestAllLinesOfTheBudgetTogether(t *testing.T) {
	t.Parallel()
	trials := 160
	if raceDetector {
		trials = 100
	}
	random := rand.New(rand.NewPCG(100, 101))
	d := statedDoubts{
		noise: 3000, temperatureNoise: 0.005, b: 0.4 * bar, bDegrees: 5, lag: 2, amplitude: 0.04 * bar, tau: 15, stiffness: 0.01 * trueStiffness,
		gain: 0.01, offset: 1000, drift: 8, calibration: 1000, temperatureGain: 0.01, temperatureDrift: 5e-6,
	}
	quantities := []string{"decay_rate", "leak_rate", "leak_flow"}
	spreads, held, normal, degrees := map[string]*spread{}, map[string]float64{}, map[string]float64{}, map[string]float64{}
	for range trials {
		z := drawn{"scale": math.Sqrt(distuv.ChiSquared{K: d.bDegrees, Src: random}.Rand() / d.bDegrees)}
		for _, name := range []string{"b", "lag", "amplitude", "tau", "stiffness", "gain", "offset", "drift", "calibration", "temperature gain", "temperature drift"} {
			z[name] = random.NormFloat64()
		}
		e, truth := d.trial(z, random)
		for _, q := range quantities {
			if spreads[q] == nil {
				spreads[q] = &spread{}
			}
			spreads[q].take(e[q], truth[q])
			degrees[q] += e[q].DegreesOfFreedom / float64(trials)
			if low, high := e[q].Interval(0.95); low <= truth[q] && truth[q] <= high {
				held[q] += 1 / float64(trials)
			}
			if math.Abs(e[q].Value-truth[q]) <= 1.96*e[q].StdUncertainty {
				normal[q] += 1 / float64(trials)
			}
		}
	}
	own := math.Sqrt(0.95 * 0.05 / float64(trials))
	for _, q := range quantities {
		s := spreads[q]
		t.Logf("%-11s seen %.4g, said %.4g; intervals hold %.3f, by a normal distribution %.3f, mean ν %.1f", q, s.seen(), s.said(), held[q], normal[q], degrees[q])
		assert.InEpsilon(t, s.seen(), s.said(), 4/math.Sqrt(2*s.n), q)
		assert.InDelta(t, 0.95, held[q], 3*own+0.005, q)
		assert.Less(t, normal[q], held[q], q)
	}
}
