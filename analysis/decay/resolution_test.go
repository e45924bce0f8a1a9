package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a resolution leaves in a long mean, by simulation over the position
// within the step: the conditional mean of the rounding error, root mean
// square. Mark C.
func TestQuantisationAgreesWithSimulation(t *testing.T) {
	for _, sigma := range []float64{0, 0.05, 0.1, 0.2, 0.3, 0.4} {
		var square, scatter float64
		const places, readings = 200, 4000
		random := rand.New(rand.NewPCG(7, 7))
		for place := range places {
			x := (float64(place) + 0.5) / places
			var sum, sum2 float64
			for range readings {
				e := math.Round(x+sigma*random.NormFloat64()) - x
				sum += e
				sum2 += e * e
			}
			mean := sum / readings
			square += mean * mean / places
			scatter += (sum2/readings - mean*mean) / places
		}
		// A live reading that moves shows σ² + q²/12 in all.
		got := quantisation(1, math.Sqrt(sigma*sigma+1.0/12))
		floor := sigma / math.Sqrt(readings)
		assert.InDelta(t, math.Sqrt(max(0, square-floor*floor)), got, 0.012, "σ = %g q", sigma)
	}
	assert.InDelta(t, 1/math.Sqrt(12), quantisation(1, 0), 1e-3)
	assert.Zero(t, quantisation(0, 1))
	assert.InDelta(t, math.Sqrt(1.0/6), math.Sqrt2*quantisation(1, 0), 1e-3, "a difference of two roundings: q/√6")
}

// oneStepInLine, and how movement across steps lessens it, by simulation.
func TestStepsInALine(t *testing.T) {
	const n = 1000
	times := make([]float64, n)
	for i := range times {
		times[i] = float64(i) / (n - 1)
	}
	w, _ := slopeWeights(times)
	random := rand.New(rand.NewPCG(1, 2))
	left := func(sweep func() float64) float64 {
		var square float64
		const runs = 1000
		for range runs {
			phase, s, e := random.Float64(), sweep(), 0.0
			for i, x := range times {
				v := phase + s*x
				e += w[i] * (math.Round(v) - v)
			}
			square += e * e / runs
		}
		return math.Sqrt(square)
	}
	assert.InDelta(t, oneStepInLine, left(random.Float64), 0.02)
	for _, steps := range []float64{2, 3, 5, 10} {
		got := left(func() float64 { return steps })
		claimed := stepsIn(math.Sqrt(n*weightedSum(w, w)), quantisation(1, 0), 1, steps)
		assert.Less(t, got, 1.1*claimed, "%g steps", steps)
		assert.Greater(t, got, claimed/2, "%g steps: not idly wide", steps)
	}
}

func TestUnstatedResolutionIsFoundWhereItIsCoarse(t *testing.T) {
	noise := white(5, 0.02)
	read := func(step, rate float64) *smooth {
		s, err := smoothed(sampled(0, 300, 0.2, func(t float64) float64 {
			return step * math.Round((293.12+rate*t+noise())/step)
		}), 0, 300, 0)
		require.NoError(t, err)
		return s
	}
	assert.InDelta(t, 0.1, read(0.1, 0.001).resolution, 1e-6)
	assert.Zero(t, read(0.001, 0.001).resolution, "finer than the noise")
	assert.Zero(t, read(0.02, 0.001).quantum, "dithered")
}
