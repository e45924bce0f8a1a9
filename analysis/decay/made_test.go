package decay

import (
	"math"
	"math/rand/v2"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

const bar = 1e5

func exactly(value, u float64) *uncertainty.Estimate {
	return &uncertainty.Estimate{Value: value, StdUncertainty: u, DegreesOfFreedom: math.Inf(1)}
}

// sampled is a column of f at from, from+interval, … to.
func sampled(from, to, interval float64, f func(t float64) float64) series.Column {
	c := series.Column{Quantity: si.Pressure}
	for i := 0; ; i++ {
		t := from + float64(i)*interval
		if t > to+1e-9 {
			return c
		}
		c.Time, c.Value = append(c.Time, t), append(c.Value, f(t))
	}
}

// white is Gaussian noise with a seed.
func white(seed uint64, sigma float64) func() float64 {
	r := rand.New(rand.NewPCG(seed, 11))
	return func() float64 { return sigma * r.NormFloat64() }
}

// steadyHold is 300 s at 10 Hz from 100 s on, without noise: 100 bar, a leak
// of 500 Pa/s (0.3 bar/min), 5 bar/K, 3 K/h.
func steadyHold() Input {
	temp := func(t float64) float64 { return 293.15 + 3.0/3600*(t-100) }
	return Input{
		Start: 100, End: 400, Locked: 50,
		Temperature: sampled(0, 400, 0.2, temp),
		Pressure:    sampled(0, 400, 0.1, func(t float64) float64 { return 100*bar - 500*(t-100) + 5*bar*(temp(t)-293.15) }),
		Known:       Characterised{ThermalCoefficient: exactly(5*bar, 0.5*bar)},
	}
}

// withNoise returns a copy of c with noise added.
func withNoise(c series.Column, noise func() float64) series.Column {
	out := c
	out.Value = append([]float64(nil), c.Value...)
	for i := range out.Value {
		out.Value[i] += noise()
	}
	return out
}

// lost is the pressure that settling has taken between two times since locking
// (s): A(e^(−from/τ) − e^(−to/τ)), in Pa.
func lost(amplitude, tau, from, to float64) float64 {
	return amplitude * (math.Exp(-from/tau) - math.Exp(-to/tau))
}
