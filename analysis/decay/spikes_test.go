package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/series"
)

func TestSpikesAreSetAsideAndNothingElse(t *testing.T) {
	noise := white(1, 1)
	ramp := sampled(0, 300, 0.1, func(t float64) float64 { return -5*t + noise() })
	spoil := func(at ...int) series.Column {
		c := ramp
		c.Value = append([]float64(nil), ramp.Value...)
		for _, i := range at {
			c.Value[i] += 500
		}
		return c
	}
	many := make([]int, 40)
	for i := range many {
		many[i] = 50 + 70*i
	}
	for name, c := range map[string]struct {
		in             series.Column
		aside, suspect int
	}{
		"noise on a ramp": {ramp, 0, 0},
		"single spikes":   {spoil(0, 77, 78, 2000, 3000), 5, 0},
		"too many":        {spoil(many...), 0, 40},
		"a lasting step": {sampled(0, 300, 0.1, func(t float64) float64 {
			return noise() - 500*math.Floor(t/151)
		}), 0, 0},
		"a steep tail": {sampled(0, 300, 0.1, func(t float64) float64 { return noise() + 500*math.Exp(-t/5) }), 0, 0},
		"coarse steps that flicker": {sampled(0, 300, 0.1, func(t float64) float64 {
			return math.Round(t/100 + 0.05*noise())
		}), 0, 0},
		"a clean quick tail":      {sampled(0, 300, 0.1, func(t float64) float64 { return 5e6 * math.Exp(-t/4) }), 0, 0},
		"a clean ramp that stops": {sampled(0, 300, 0.1, func(t float64) float64 { return 1e4 * min(t, 20) }), 0, 0},
		"constant":                {sampled(0, 300, 0.1, func(float64) float64 { return 7 }), 0, 0},
		"few":                     {sampled(0, 1, 0.1, func(t float64) float64 { return 1e6 * math.Floor(t) }), 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			kept, aside, suspect := WithoutSpikes(c.in)
			assert.Equal(t, c.aside, aside)
			assert.Equal(t, c.suspect, suspect)
			assert.Equal(t, c.in.Len()-aside, kept.Len())
		})
	}
}

func TestSpikesDoNotMoveTheRate(t *testing.T) {
	in := steadyHold()
	in.Pressure = withNoise(in.Pressure, white(2, 1000))
	in.Temperature = withNoise(in.Temperature, white(3, 0.02))
	clean := Fit(in, Options{}).Estimates["decay_rate"]
	in.Pressure.Value[1010] = 0
	in.Pressure.Value[3900] = 400 * bar
	in.Temperature.Value[1990] = 800
	r := Fit(in, Options{})
	assert.Equal(t, 2, r.Diagnostics.SetAside)
	assert.Equal(t, 1, r.Diagnostics.TemperatureSetAside)
	got := r.Estimates["decay_rate"]
	assert.InDelta(t, clean.Value, got.Value, 0.1*clean.StdUncertainty)
	assert.InEpsilon(t, clean.StdUncertainty, got.StdUncertainty, 0.02)
}

// Gaussian noise has no spikes, however coarse the steps in which it is read:
// 0.01 bar of noise in steps of 1/64 bar and the like. A reading far off is
// one at any step.
func TestSteppedNoiseHasNoSpikes(t *testing.T) {
	const sigma = 1000.0
	for _, step := range []float64{0, 0.2, 0.5, 1, 1.5625, 2, 3, 5} {
		aside := 0
		for seed := range uint64(10) {
			noise := white(seed, sigma)
			c := sampled(0, 300, 0.1, func(t float64) float64 {
				p := 100*bar - 5*t + noise()
				if step > 0 {
					// As a current in whole microamperes, turned back.
					span := 16000 * step * sigma
					p = (math.Round(4000+16000*p/span)/1000 - 4) / 16 * span
				}
				return p
			})
			_, n, suspect := WithoutSpikes(c)
			aside += n
			assert.Zero(t, suspect)
			c.Value[1500] += (12 + 4*step) * sigma
			_, n, _ = WithoutSpikes(c)
			assert.Equal(t, 1, n, "step %g σ", step)
		}
		assert.Zero(t, aside, "step %g σ", step)
	}
}
