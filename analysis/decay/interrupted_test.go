package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
)

// One slope through two segments, each of its own level.
//
// Source: analysis of covariance by an independent statistics package (mark C).
func TestOneSlopeThroughSegments(t *testing.T) {
	in := Input{
		Start: 0, End: 7, Locked: math.NaN(),
		Pressure: series.Column{
			Time:  []float64{0, 1, 2, 3, 5, 6, 7},
			Value: []float64{100.00, 99.79, 99.61, 99.40, 101.00, 100.82, 100.59},
		},
		Temperature:  series.Column{Time: []float64{0, 7}, Value: []float64{293, 293}},
		Segments:     []Segment{{Start: 0, End: 3}, {Start: 5, End: 7}},
		Known:        Characterised{ThermalCoefficient: exactly(5, 0)},
		TestPressure: 100,
	}
	r := Fit(in, Options{ExactTemperature: true, After: []float64{3}})
	e := r.Estimates["decay_rate"]
	assert.InDelta(t, 0.200000, e.Value, 0.5e-6)
	assert.InDelta(t, 0.0048795, budgetLine(t, e, SourceNoise), 0.5e-7)
	assert.InDelta(t, 0.0129099, r.Diagnostics.Noise, 0.5e-7)
	assert.InDelta(t, 4, e.Budget[0].DegreesOfFreedom, 1e-9, "7 readings, 2 levels, 1 slope")
	assert.InDelta(t, 0.2*5, r.Estimates["drop"].Value, 1e-9, "over 3 s and 2 s")
	assert.Equal(t, 2, r.Diagnostics.Segments)
	assert.InDelta(t, 5, r.Diagnostics.Held, 1e-12)
	assert.NotEmpty(t, r.Estimates["pressure_end"].Absent)
	assert.NotEmpty(t, r.After[0].Absent)
	assert.Contains(t, r.Diagnostics.LawReason, "one slope through 2 segments")
}

// sawtooth is a unit that is pumped up by 8 bar each time that it has fallen to
// 92 bar, with the liquid warmer by a twentieth of that after it.
type sawtooth struct {
	duration, interval float64
	leak, sigma, phi   float64 // Pa/s, Pa
	ramp               float64 // K/s
	b, warm            float64 // Pa/K, Pa after each pumping
}

func (s sawtooth) input(seed uint64) Input {
	random := rand.New(rand.NewPCG(seed, 31))
	in := Input{Start: 0, End: s.duration, Locked: math.NaN(), Known: Characterised{ThermalCoefficient: exactly(s.b, 0.02*s.b)}}
	p, warm, noise, pumped := 100*bar, 0.0, random.NormFloat64(), 0.0
	for i := 0; float64(i)*s.interval <= s.duration; i++ {
		t := float64(i) * s.interval
		noise = s.phi*noise + math.Sqrt(1-s.phi*s.phi)*random.NormFloat64()
		temp := 293 + s.ramp*t
		in.Pressure.Time = append(in.Pressure.Time, t)
		in.Pressure.Value = append(in.Pressure.Value, p+warm+s.b*s.ramp*t+s.sigma*noise)
		in.Temperature.Time = append(in.Temperature.Time, t)
		in.Temperature.Value = append(in.Temperature.Value, temp+0.005*random.NormFloat64())
		p -= s.leak * s.interval
		warm *= math.Exp(-s.interval / 30)
		if p < 92*bar || pumped > 0 {
			pumped += s.interval
			p += 8 * bar * min(s.interval/10, 1)
			warm += s.warm * min(s.interval/10, 1)
			if pumped >= 10 {
				pumped = 0
			}
		}
	}
	return in
}

// Over many soaks with re-pumps the interval of the common slope holds the true
// rate. Own simulation (mark C).
func TestSegmentsCoverTheTrueRate(t *testing.T) {
	t.Parallel()
	const runs = 100
	for name, s := range map[string]sawtooth{
		"white":          {leak: 5000.0 / 60, sigma: 2000},
		"autocorrelated": {leak: 5000.0 / 60, sigma: 2000, phi: 0.9},
		"warming room":   {leak: 5000.0 / 60, sigma: 2000, ramp: 0.3 / 3600},
		"warm pumps":     {leak: 5000.0 / 60, sigma: 2000, phi: 0.5, warm: 0.1 * bar},
	} {
		t.Run(name, func(t *testing.T) {
			s.duration, s.interval, s.b = 6*3600, 10, 5*bar
			inside := 0
			for seed := range uint64(runs) {
				r := Fit(s.input(seed), Options{})
				require.GreaterOrEqual(t, r.Diagnostics.Segments, 2)
				low, high := r.Estimates["decay_rate"].Interval(0.95)
				if low <= s.leak && s.leak <= high {
					inside++
				}
				assert.Empty(t, r.Diagnostics.Jumps)
			}
			t.Logf("%d of %d inside", inside, runs)
			assert.GreaterOrEqual(t, inside, 89)
		})
	}
}

// What the re-pumps say of the loss agrees with the slope between them.
func TestRepumpsAreASecondEstimate(t *testing.T) {
	s := sawtooth{duration: 24 * 3600, interval: 10, leak: 10000.0 / 60, sigma: 500, b: 5 * bar}
	d := Fit(s.input(1), Options{}).Diagnostics
	assert.Equal(t, d.Segments-1, d.Repumps)
	assert.Greater(t, d.Repumps, 3)
	assert.InEpsilon(t, s.leak, d.RepumpRate, 0.02)
	assert.InDelta(t, s.leak, d.RepumpRate, 4*d.RepumpRateU+0.002*s.leak)
	assert.InEpsilon(t, 8*bar/s.leak, d.RepumpInterval, 0.05)
}

// Very many readings are gathered within their segments only.
func TestGatheredSegmentsAreNotMixed(t *testing.T) {
	s := sawtooth{duration: 3 * 3600, interval: 0.5, leak: 20000.0 / 60, sigma: 1000, b: 5 * bar}
	in := s.input(2)
	require.Greater(t, in.Pressure.Len(), 4*mostFitted)
	r := Fit(in, Options{})
	assert.Greater(t, r.Diagnostics.Segments, 3)
	assert.InEpsilon(t, 1000, r.Diagnostics.Noise, 0.05)
	assert.InDelta(t, s.leak, r.Estimates["decay_rate"].Value, 3*r.Estimates["decay_rate"].StdUncertainty)
}

// What only rises, swings, or falls was not pumped up again.
func TestWhatWasNotPumpedHasNoSegments(t *testing.T) {
	t.Parallel()
	noise := white(5, 1000)
	for name, p := range map[string]func(t float64) float64{
		"steady":      func(t float64) float64 { return 100*bar - 500*t },
		"warming":     func(t float64) float64 { return 100*bar + 0.03*bar*t },
		"to and fro":  func(t float64) float64 { return 100*bar + bar*math.Sin(t/20) },
		"curved rise": func(t float64) float64 { return 100*bar - 5*bar*math.Expm1(-t/20) },
		"step down":   func(t float64) float64 { return 100*bar - 5*bar*math.Floor(t/200) },
	} {
		assert.Empty(t, Segments(sampled(0, 300, 0.1, func(t float64) float64 { return p(t) + noise() }), nil), name)
	}
}
