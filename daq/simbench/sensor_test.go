package simbench

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
)

// draws returns the noise of n readings of a pressure channel.
func draws(name string, s Sensors, seed uint64, n int) []float64 {
	views := []view{{channel: bench.Channel{Name: name, Quantity: si.Pressure}}}
	one := newSensors(views, "", s, seed)[0]
	out := make([]float64, n)
	for i := range out {
		out[i] = one.noise()
	}
	return out
}

// moments returns standard deviation and lag-1 correlation of noise about 0.
func moments(x []float64) (sigma, rho float64) {
	var square, product float64
	for i, v := range x {
		square += v * v
		if i > 0 {
			product += v * x[i-1]
		}
	}
	return math.Sqrt(square / float64(len(x))), product / square
}

func TestNoiseHasItsWidthAndCorrelation(t *testing.T) {
	for _, want := range []float64{0, 0.9} {
		sigma, rho := moments(draws("p", Sensors{Pressure: 1000, Correlation: want}, 1, 40000))
		// With ρ = 0.9, 40 000 readings are worth 2100 independent ones.
		assert.InEpsilon(t, 1000, sigma, 0.06)
		assert.InDelta(t, want, rho, 0.02)
	}
}

func TestChannelsHaveNoiseOfTheirOwn(t *testing.T) {
	s := Sensors{Pressure: 1000}
	assert.Equal(t, draws("p", s, 1, 50), draws("p", s, 1, 50))
	assert.NotEqual(t, draws("p", s, 1, 50), draws("q", s, 1, 50))
	assert.NotEqual(t, draws("p", s, 1, 50), draws("p", s, 2, 50))
}
