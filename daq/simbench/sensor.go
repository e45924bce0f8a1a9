package simbench

import (
	"hash/fnv"
	"math"
	"math/rand/v2"

	"holdbench/analysis/si"
)

// Sensors is how noisy the instruments are: standard deviations of a reading.
type Sensors struct {
	Pressure    float64 // Pa
	Temperature float64 // K
	// Correlation of one reading's noise with the next one's, 0 ≤ ρ < 1.
	Correlation float64
}

// DefaultSensors are those of an ordinary bench.
var DefaultSensors = Sensors{Pressure: 1000, Temperature: 0.005}

// noisy makes the noise of one channel. Its n-th reading has the n-th draw,
// whatever else is read in between.
type noisy struct {
	sigma, rho float64
	draw       *rand.Rand
	last       float64
	any        bool
}

// barometer is the noise of a channel that measures the air, Pa.
const barometer = 10

func newSensors(views []view, air string, s Sensors, seed uint64) []noisy {
	out := make([]noisy, len(views))
	for i, v := range views {
		name := fnv.New64a()
		name.Write([]byte(v.channel.Name)) // never fails
		out[i] = noisy{rho: s.Correlation, draw: rand.New(rand.NewPCG(seed, name.Sum64()))}
		switch {
		case v.channel.State:
		case v.channel.Quantity == si.Temperature:
			out[i].sigma = s.Temperature
		case v.channel.Name == air:
			out[i].sigma = min(barometer, s.Pressure)
		case v.channel.Quantity == si.Voltage || v.channel.Quantity == si.Current:
			out[i].sigma = supplyNoise * steady(v.channel)
		default:
			out[i].sigma = s.Pressure
		}
	}
	return out
}

// noise returns the noise of the next reading, SI.
func (s *noisy) noise() float64 {
	n := s.draw.NormFloat64()
	if s.any {
		n = s.rho*s.last + math.Sqrt(1-s.rho*s.rho)*n
	}
	s.last, s.any = n, true
	return s.sigma * n
}
