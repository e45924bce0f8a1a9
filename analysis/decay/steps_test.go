package decay

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A step of a few standard deviations of the noise is found by all the readings
// about it, with its place and size, also where the noise remembers and on a
// ramp; a smaller one in most of many readings.
func TestLastingStepsAreFound(t *testing.T) {
	const runs = 50
	for _, c := range []struct {
		n                  int
		phi, sigmas, share float64
	}{
		{300, 0, 5, 0.6},
		{300, 0.5, 5, 0.7},
		{300, 0.8, 5, 0.85},
		{3000, 0, 2, 0.6},
		{3000, 0.5, 3, 0.6},
		{3000, 0.8, 5, 0.7},
	} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			t.Parallel()
			found := 0
			for seed := range uint64(runs) {
				column := course{n: c.n, interval: 300 / float64(c.n), sigma: 1000, phi: c.phi, at: func(t float64) float64 {
					if t > 133.04 {
						return -50*t - 1000*c.sigmas
					}
					return -50 * t
				}}.column(seed)
				j, ok := LastingStep(column, 0)
				if ok && math.Abs(j.At-133.04) < 5 {
					found++
					assert.InDelta(t, -1000*c.sigmas, j.Size, 3000)
				}
			}
			t.Logf("%d of %d", found, runs)
			assert.GreaterOrEqual(t, float64(found), c.share*runs)
		})
	}
}

// What bends, or changes and takes its time, is no step, however large.
func TestSlowChangesAreNoSteps(t *testing.T) {
	const runs = 100
	for name, at := range map[string]func(t float64) float64{
		"kink": func(t float64) float64 { return -200 * max(t-130, 0) },
		"door": func(t float64) float64 {
			return -20000 * (math.Exp(-max(t-100, 0)/120) - math.Exp(-max(t-100, 0)/20))
		},
		"ramp of 40 s":        func(t float64) float64 { return 10000 * min(max((t-130)/40, 0), 1) },
		"relaxation of 25 s":  func(t float64) float64 { return 8000 * math.Exp(-max(t-130, 0)/25) },
		"tail from the start": func(t float64) float64 { return 30000 * math.Exp(-t/25) },
	} {
		for _, phi := range []float64{0, 0.6} {
			t.Run(fmt.Sprint(name, phi), func(t *testing.T) {
				t.Parallel()
				alarms := 0
				for seed := range uint64(runs) {
					column := course{n: 300, interval: 1, sigma: 1000, phi: phi, at: at}.column(seed)
					if _, ok := LastingStep(column, 0); ok {
						alarms++
					}
				}
				assert.LessOrEqual(t, alarms, runs/100)
			})
		}
	}
}

// A small step of the zero in a hold is among its jumps.
func TestFitTellsOfALastingStep(t *testing.T) {
	for size, want := range map[float64]int{0: 0, -0.12 * bar: 1, 0.12 * bar: 1} {
		in := steadyHold()
		in.Pressure = withNoise(in.Pressure, white(3, 2000))
		for i, at := range in.Pressure.Time {
			if at > 250.3 {
				in.Pressure.Value[i] += size
			}
		}
		in.Temperature = withNoise(in.Temperature, white(4, 1e-4))
		in.Known.ThermalCoefficient = exactly(5*bar, 0)
		jumps := Fit(in, Options{}).Diagnostics.Jumps
		require.Len(t, jumps, want, "%g", size)
		if want > 0 {
			assert.InDelta(t, 250.3, jumps[0].At, 3)
			assert.InDelta(t, size, jumps[0].Size, 2000)
		}
	}
}

func BenchmarkLastingStep(b *testing.B) {
	c := course{n: 3000, interval: 0.1, sigma: 1000, phi: 0.3}.column(1)
	for b.Loop() {
		LastingStep(c, 0)
	}
}
