package analysis

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestStuckIsToldFromCoarse(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	steps := func(n int, q, sigma float64, f func(i int) float64) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = q * math.Round((f(i)+sigma*random.NormFloat64())/q)
		}
		return out
	}
	flat := func(int) float64 { return 7.3 }
	freeze := func(v []float64, from int) []float64 {
		for i := from; i < len(v); i++ {
			v[i] = v[from]
		}
		return v
	}
	for name, c := range map[string]struct {
		v, since   []float64
		resolution float64
		want       bool
	}{
		"fine noise":                 {v: steps(3000, 1e-6, 1, flat)},
		"frozen amid fine noise":     {v: freeze(steps(3000, 1e-6, 1, flat), 2900), want: true},
		"a short repeat":             {v: freeze(steps(3000, 1e-6, 1, flat), 2990)},
		"coarse and quiet":           {v: steps(3000, 1, 0.05, flat)},
		"coarse ramp":                {v: steps(3000, 1, 0.01, func(i int) float64 { return float64(i) / 700 })},
		"coarse settling tail":       {v: steps(3000, 1, 0.02, func(i int) float64 { return 40 * math.Exp(-float64(i)/100) })},
		"noise of a step, frozen":    {v: freeze(steps(3000, 1, 1, flat), 2500), want: true},
		"never moved, not stated":    {v: make([]float64, 3000), want: true},
		"never moved, coarse stated": {v: make([]float64, 3000), resolution: 0.1},
		"never moved, lively before": {v: make([]float64, 3000), since: steps(300, 1e-6, 1, flat), resolution: 0.1, want: true},
		"never moved, coarse before": {v: make([]float64, 3000), since: steps(300, 1, 0.1, func(i int) float64 { return float64(i) / 100 }), resolution: 1},
		"too few to tell":            {v: make([]float64, 12)},
	} {
		t.Run(name, func(t *testing.T) {
			_, is := stuck(c.v, c.since, c.resolution)
			assert.Equal(t, c.want, is)
		})
	}
}

func TestSaturationIsARunAtAnEnd(t *testing.T) {
	nan := math.NaN()
	assert.Equal(t, 3, saturated([]float64{1, 10, 11, 10, 2}, nan, 10))
	assert.Equal(t, 1, saturated([]float64{1, 10, 2, 10, 2}, nan, 10))
	assert.Equal(t, 0, saturated([]float64{1, 10, 11}, nan, nan))
	assert.Equal(t, 0, saturated([]float64{0, 0, 0, -1}, 0, 10), "an empty circuit is at 0 gauge")
	assert.Equal(t, 2, saturated([]float64{50, 50, 60}, 50, 100))
}
