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

// sensor makes the noise of one channel. Its n-th reading has the n-th draw,
// whatever else is read in between.
type sensor struct {
	sigma, rho float64
	draw       *rand.Rand
	last       float64
	any        bool
}

func newSensors(views []view, s Sensors, seed uint64) []sensor {
	out := make([]sensor, len(views))
	for i, v := range views {
		name := fnv.New64a()
		name.Write([]byte(v.channel.Name)) // never fails
		out[i] = sensor{rho: s.Correlation, draw: rand.New(rand.NewPCG(seed, name.Sum64()))}
		switch v.channel.Quantity {
		case si.Pressure:
			out[i].sigma = s.Pressure
		case si.Temperature:
			out[i].sigma = s.Temperature
		}
	}
	return out
}

// read returns what the sensor makes of the true value: noise added, then
// rounded to the instrument's resolution (0: none).
func (s *sensor) read(value, resolution float64) float64 {
	n := s.draw.NormFloat64()
	if s.any {
		n = s.rho*s.last + math.Sqrt(1-s.rho*s.rho)*n
	}
	s.last, s.any = n, true
	value += s.sigma * n
	if resolution > 0 {
		value = math.Round(value/resolution) * resolution
	}
	return value
}
