package characterisation

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

func run(value, u, common float64) Figure {
	return Figure{Estimate: uncertainty.Estimate{Value: value, StdUncertainty: math.Hypot(u, common), DegreesOfFreedom: 20, Quantity: si.ThermalCoefficient}, Common: common}
}

// Law: with equal uncertainties the mean is the plain one and the variance
// between runs is s² − u². Mark L.
func TestMandelPauleOfEqualUncertainties(t *testing.T) {
	c := Combine([]Figure{run(1, .5, 0), run(3, .5, 0), run(4, .5, 0), run(8, .5, 0)})
	s2 := (9.0 + 1 + 0 + 16) / 3
	assert.InDelta(t, 4, c.Value, 1e-9)
	assert.InDelta(t, math.Sqrt(s2-.25), c.Between, 1e-9)
	assert.InDelta(t, math.Sqrt(s2/4), c.StdUncertainty, 1e-9)
	assert.InDelta(t, 3, c.DegreesOfFreedom, 1e-9)
	assert.InDelta(t, math.Sqrt(s2/.25), c.Birge, 1e-9)
	assert.InDeltaSlice(t, []float64{.25, .25, .25, .25}, c.Weights, 1e-12)
}

// Law: at the variance found, the weighted sum of squares is n − 1.
func TestMandelPauleSolvesItsEquation(t *testing.T) {
	own := []uncertainty.Estimate{{Value: 1, StdUncertainty: .1}, {Value: 2, StdUncertainty: .5}, {Value: 1.7, StdUncertainty: .2}, {Value: 2.9, StdUncertainty: .3}}
	b := between(own)
	_, square := weigh(own, b*b)
	assert.Positive(t, b)
	assert.InDelta(t, 3, square, 1e-9)
}

func TestRunsThatAgreeAreAveragedByTheirWeights(t *testing.T) {
	c := Combine([]Figure{run(10, 1, 0), run(10.5, 2, 0)})
	assert.Zero(t, c.Between)
	assert.InDelta(t, 10.1, c.Value, 1e-12)
	assert.InDelta(t, math.Sqrt(.8), c.StdUncertainty, 1e-12)
	assert.Less(t, c.Birge, 1.0)
}

// What the instruments bring into every run does not become less with their
// number.
func TestWhatIsCommonIsNotAveraged(t *testing.T) {
	var all []Figure
	for range 100 {
		all = append(all, run(10, .1, .3))
	}
	c := Combine(all)
	assert.InDelta(t, math.Hypot(.01, .3), c.StdUncertainty, 1e-9)
	assert.InDelta(t, .3, c.Common, 1e-9)
	one := Combine(all[:1])
	assert.Equal(t, all[0], one.Figure)
	assert.True(t, math.IsNaN(one.Birge))
	assert.Panics(t, func() { Combine(nil) })
}

// Runs that truly differ: the interval of the mean covers. Seed 11.
func TestMeanOfRunsThatDifferCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 0))
	const trials = 3000
	covered := 0
	for range trials {
		var all []Figure
		for i := range 5 {
			u := .5 + .2*float64(i)
			all = append(all, run(7+1.5*rng.NormFloat64()+u*rng.NormFloat64(), u, 0))
		}
		if covers(Combine(all).Estimate, 7) {
			covered++
		}
	}
	assert.InDelta(t, .95, float64(covered)/trials, .02)
}

func TestCorrelationOfMeans(t *testing.T) {
	first := []Figure{run(1, .1, 0), run(1, .1, 0)}
	second := []Figure{run(5, .2, 0), run(5, .2, 0)}
	r := CombineCorrelation(Combine(first), Combine(second), first, second, []float64{-.4, -.4})
	assert.InDelta(t, -.4, r, 1e-9)
}
