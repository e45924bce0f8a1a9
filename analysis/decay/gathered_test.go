package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An hour at 10 Hz, fitted to the means of blocks, says what all its readings
// say, and draws all of them.
func TestVeryManyReadingsAreGatheredWithoutLoss(t *testing.T) {
	t.Parallel()
	truths := map[string]vector{Line: {95 * bar, -10 * bar / 3600}, Exponential: {100 * bar, math.Log(20000)}}
	for _, m := range known(truths) {
		for _, phi := range []float64{0, 0.7} {
			random := rand.New(rand.NewPCG(5, 55))
			truth := truths[m.name]
			x := frame{middle: 1800}
			last := 0.0
			in := Input{
				Start: 0, End: 3600, Locked: math.NaN(),
				Temperature: sampled(0, 3600, 1, func(t float64) float64 { return 293 + 1e-6*t }),
				Known:       Characterised{ThermalCoefficient: exactly(5*bar, 0)},
			}
			in.Pressure = sampled(0, 3600, 0.1, func(t float64) float64 {
				last = phi*last + math.Sqrt(1-phi*phi)*random.NormFloat64()
				return m.at(truth, x, t).value + 5*bar*1e-6*t + 2000*last
			})
			in.Pressure.Time, in.Pressure.Value = without(in.Pressure.Time, []int{7, 8, 9}), without(in.Pressure.Value, []int{7, 8, 9})
			r := Fit(in, Options{After: []float64{7200}})
			n := in.Pressure.Len()
			require.Equal(t, n, r.Diagnostics.Readings)
			require.Greater(t, n, 4*mostFitted)
			compensated := make([]float64, n)
			for i, p := range in.Pressure.Value {
				compensated[i] = p - 5*bar*1e-6*in.Pressure.Time[i]
				require.InDelta(t, compensated[i], r.Curves.Compensated[i], 1)
				require.InDelta(t, m.at(truth, x, in.Pressure.Time[i]).value, r.Curves.Fitted[i], 500)
				require.InDelta(t, 293+1e-6*in.Pressure.Time[i], r.Curves.LiquidTemperature[i], 1e-7)
			}
			assert.Equal(t, in.Pressure.Value, r.Curves.Measured)
			assert.Len(t, r.Curves.LiquidTemperatureU, n)
			whole, err := m.lay(in.Pressure.Time, compensated, frame{middle: mean(in.Pressure.Time), drive: driven(in.Pressure.Time, added(in.Pressure.Value, scaledBy(-1, compensated)), 3600)})
			require.NoError(t, err)
			lost := whole.lost(whole.c, whole.frame, 3600)
			u := whole.noise(lost)
			got := r.Estimates["drop"]
			assert.Equal(t, m.name, r.Diagnostics.Law)
			assert.InDelta(t, lost.value, got.Value, 0.1*u, "a tenth of its uncertainty")
			assert.InEpsilon(t, u, budgetLine(t, got, SourceNoise), 0.05)
			assert.InEpsilon(t, whole.std, r.Diagnostics.Noise, 0.01)
			assert.InEpsilon(t, whole.effective, r.Diagnostics.EffectiveReadings, 0.1)
		}
	}
}

func scaledBy(k float64, y []float64) (out []float64) {
	for _, v := range y {
		out = append(out, k*v)
	}
	return out
}

// The search for an exponential in blocks finds what a search among all
// readings finds, also where readings are missing and pile up.
func TestExponentialIsSearchedInBlocksWithoutLoss(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 66))
	var times, p []float64
	for at := 0.0; at < 2000; at += 0.3 + 0.4*random.Float64() {
		if at > 400 && at < 520 {
			continue
		}
		times, p = append(times, at), append(p, 3*bar+80*bar*math.Exp(-at/900)+1000*random.NormFloat64())
	}
	x := frame{sink: 3 * bar, middle: mean(times)}
	l, err := exponential.lay(times, p, x)
	require.NoError(t, err)
	b := averaged(times, p, x, len(times))
	rate, err := b.relativeFall()
	require.NoError(t, err)
	all, allUnit, err := b.separable(exponentialModel(b, x), -math.Log(rate))
	require.NoError(t, err)
	u := l.std * math.Sqrt(l.unit[1][1])
	assert.InDelta(t, all[1], l.c[1], 0.02*u)
	assert.InEpsilon(t, math.Sqrt(allUnit[1][1]), math.Sqrt(l.unit[1][1]), 1e-3)
	assert.InDelta(t, math.Log(900), l.c[1], 3*u)
}
