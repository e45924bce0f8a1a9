package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/fit"
	"holdbench/analysis/uncertainty"
)

// Runs of eight residuals in pairs: 4 of them, 5 expected, s² = 4·3/7.
//
// Source: Wald and Wolfowitz 1940, by hand (mark C).
func TestRunsOfResiduals(t *testing.T) {
	t.Parallel()
	assert.InDelta(t, -1/math.Sqrt(12.0/7), runs([]float64{1, 2, -1, -2, 3, 1, -1, -4}), 1e-12)
	assert.InDelta(t, 3/math.Sqrt(12.0/7), runs([]float64{1, -1, 2, -2, 0, 3, -3, 4, -4}), 1e-12, "none of 0")
	assert.True(t, math.IsNaN(runs([]float64{1, 2, 3})))
	assert.True(t, math.IsNaN(runs(nil)))
	random := rand.New(rand.NewPCG(1, 71))
	x := make([]float64, 4000)
	for i := range x {
		x[i] = random.NormFloat64()
	}
	assert.Less(t, math.Abs(runs(x)), 3.0)
	for i := 1; i < len(x); i++ {
		x[i] += 0.5 * x[i-1]
	}
	assert.Less(t, runs(x), -10.0)
}

// The halves of a steady hold differ beyond their 95 % in fewer than one of eight,
// whatever the thermal coefficient really is; those of a leak that closes
// always. Own simulation (mark C).
func TestHalvesAreComparedWithinTheirUncertainty(t *testing.T) {
	t.Parallel()
	const runs = 100
	differ, closing := 0, 0
	for seed := range uint64(runs) {
		random := rand.New(rand.NewPCG(seed, 73))
		b := 5*bar + 0.5*bar*random.NormFloat64()
		temp := func(t float64) float64 { return 293.15 + 0.2*math.Pow((t-100)/300, 2) }
		noise := 0.0
		make := func(leak func(t float64) float64) Input {
			return Input{
				Start: 100, End: 400, Locked: 50,
				Temperature: sampled(0, 400, 1, func(t float64) float64 { return temp(t) + 0.003*random.NormFloat64() }),
				Pressure: sampled(0, 400, 0.5, func(t float64) float64 {
					noise = 0.8*noise + 0.6*random.NormFloat64()
					return 100*bar - leak(t-100) + b*(temp(t)-293.15) + 1000*noise
				}),
				Known: Characterised{ThermalCoefficient: exactly(5*bar, 0.5*bar), Lag: exactly(0, 1)},
			}
		}
		beyond := func(d Diagnostics) bool { return math.Abs(d.HalvesT) > uncertainty.T(0.975, d.HalvesDOF) }
		if beyond(Fit(make(func(t float64) float64 { return 100 * t }), Options{}).Diagnostics) {
			differ++
		}
		if beyond(Fit(make(func(t float64) float64 { return 1000 * min(t, 150) }), Options{}).Diagnostics) {
			closing++
		}
	}
	t.Logf("%d of %d steady, %d closing", differ, runs, closing)
	assert.LessOrEqual(t, differ, 12)
	assert.Equal(t, runs, closing)
}

// The influence of spikes is that of a line with and without them.
func TestInfluenceOfSpikes(t *testing.T) {
	in := steadyHold()
	in.Pressure = withNoise(in.Pressure, white(2, 1000))
	assert.Zero(t, Fit(in, Options{}).Diagnostics.SpikeInfluence)
	in.Pressure.Value[1010] += 20 * bar
	in.Pressure.Value[3900] -= 30 * bar
	r := Fit(in, Options{})
	require.Equal(t, 2, r.Diagnostics.SetAside)
	inside := in.Pressure.Window(in.Start, in.End)
	with, err := fit.Line(inside.Time, inside.Value)
	require.NoError(t, err)
	without, err := fit.Line(r.Curves.Time, r.Curves.Measured)
	require.NoError(t, err)
	assert.InEpsilon(t, without.Coefficients[1]-with.Coefficients[1], r.Diagnostics.SpikeInfluence, 0.01)
}
