package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// swings is an hour whose temperature goes up and down, with 5 bar/K.
func swings(seed uint64) Input {
	random := rand.New(rand.NewPCG(seed, 2718))
	s := usual(random, 3600, 1)
	s.b = 5 * bar
	s.bench = func(t float64) float64 { return 293 + 0.3*math.Sin(2*math.Pi*t/1500) + 0.4*t/3600 }
	return s.still().input(random)
}

// Without a characterisation the coefficient comes from the hold, with an
// uncertainty that 40 holds bear out.
func TestCoefficientIsLearnedWhereTheHoldTellsIt(t *testing.T) {
	t.Parallel()
	var square, claimed float64
	const seeds = 40
	for seed := range uint64(seeds) {
		in := swings(seed)
		in.Known.ThermalCoefficient = nil
		r := Fit(in, Options{})
		require.True(t, r.Diagnostics.LearnedCoefficient)
		b := r.Estimates["thermal_coefficient"]
		square += math.Pow(b.Value-5*bar, 2) / seeds
		claimed += b.StdUncertainty * b.StdUncertainty / seeds
		if seed == 0 {
			assert.Contains(t, b.Budget[0].Note, "this hold itself")
			assert.Contains(t, r.Diagnostics.Notes[0], "learned from this hold")
			assert.Less(t, r.Diagnostics.VIF, 2.0)
		}
	}
	t.Logf("scatter %.0f Pa/K, claimed %.0f Pa/K", math.Sqrt(square), math.Sqrt(claimed))
	assert.Greater(t, claimed, 0.7*square)
	assert.Less(t, claimed, 4*square)
	assert.Less(t, math.Sqrt(claimed), 0.05*bar)
}

// With a characterisation that is much better than what the hold can say it is
// held; with one that disagrees it is held, and that is said.
func TestCoefficientIsHeldWhereTheHoldSaysLessOrOtherwise(t *testing.T) {
	good := swings(1)
	good.Known.ThermalCoefficient = exactly(5*bar, 0.005*bar)
	r := Fit(good, Options{})
	assert.False(t, r.Diagnostics.LearnedCoefficient)
	assert.Equal(t, 5*bar, r.Estimates["thermal_coefficient"].Value)

	wrong := swings(1)
	wrong.Known.ThermalCoefficient = exactly(8*bar, 0.5*bar)
	r = Fit(wrong, Options{})
	assert.False(t, r.Diagnostics.LearnedCoefficient)
	assert.Equal(t, 8*bar, r.Estimates["thermal_coefficient"].Value)
	require.NotEmpty(t, r.Diagnostics.Notes)
	assert.Contains(t, r.Diagnostics.Notes[0], "does not agree with the characterised thermal coefficient 8.00 bar/K")
}

// Nothing is learned from a ramp, a curve, temperatures as given, or a probe
// whose lag nobody knows while it swings quickly; time and temperature in step
// are named where they matter.
func TestCoefficientIsNotLearnedFromARamp(t *testing.T) {
	in := steadyHold()
	in.Known.ThermalCoefficient = nil
	in.Temperature = withNoise(in.Temperature, white(3, 0.02))
	in.Pressure = withNoise(in.Pressure, white(2, 1000))
	r := Fit(in, Options{})
	assert.False(t, r.Diagnostics.LearnedCoefficient)
	assert.Contains(t, r.Diagnostics.InStep, "time and temperature go in step (correlation 1.000)")
	assert.Contains(t, r.Diagnostics.InStep, "not characterised")

	given := swings(1)
	given.Known.ThermalCoefficient = nil
	assert.False(t, Fit(given, Options{ExactTemperature: true}).Diagnostics.LearnedCoefficient)

	twelve := Fit(twelvePoints(), Options{}).Diagnostics
	assert.False(t, twelve.LearnedCoefficient)
	assert.InDelta(t, 0.994356, twelve.TimeTemperature, 0.006)
	assert.Greater(t, twelve.VIF, 80.0)
	assert.InDelta(t, 88.836, Fit(twelvePoints(), Options{ExactTemperature: true}).Diagnostics.VIF, 0.0005)
}

// The bias of a raw column: 20 mK of noise on a swing of 20 mK would shrink the
// coefficient by half. Mark L.
func TestLearnedCoefficientIsNotThatOfTheRawColumn(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(5, 2718))
	s := usual(random, 3600, 0.2)
	s.b, s.known.ThermalCoefficient = 5*bar, nil
	s.bench = func(t float64) float64 { return 293 + 0.030*math.Sin(2*math.Pi*t/900) }
	in := s.still().input(random)
	r := Fit(in, Options{})
	require.True(t, r.Diagnostics.LearnedCoefficient)
	b := r.Estimates["thermal_coefficient"]
	assert.InDelta(t, 5*bar, b.Value, 3*b.StdUncertainty)
	assert.Less(t, b.StdUncertainty, 0.25*bar)
	raw := in.Temperature.Window(in.Start, in.End).Value
	p := in.Pressure.Window(in.Start, in.End).Value
	var xx, xy float64
	mean := meanFrom(raw)
	for i, v := range raw {
		xx, xy = xx+(v-mean)*(v-mean), xy+(v-mean)*(p[i]+s.leak*float64(i)*0.2-100*bar)
	}
	assert.Less(t, xy/xx, 3*bar)
}
