package decay

import (
	"fmt"
	"math"

	"holdbench/analysis/uncertainty"
)

// clock is the time that a laminar leak sees: a warmer liquid is thinner, and
// the same leak runs by that much faster,
//
//	θ(t) = ∫ μ(T_f(t0))/μ(T_f) dt,   μ ∝ exp(c·T_f),  c = (1/μ)·dμ/dT
//
// It stands at even times over the hold, straight between them.
//
// Source: Hagen–Poiseuille, flow over viscosity (mark M).
type clock struct {
	step float64 // s between times, the first at t0
	at   []float64
	by   []float64 // derivative by c
}

// clocked returns the clock of a hold, nil where the viscosity's change is not
// known or does nothing.
func (f *fitting) clocked() *clock {
	known := f.in.Known.ViscosityChange
	if known == nil || f.liquid == nil || (known.Value == 0 && known.StdUncertainty == 0) {
		return nil
	}
	k := &clock{step: f.duration / gridSteps, at: make([]float64, gridSteps+1), by: make([]float64, gridSteps+1)}
	pace, slope := 1.0, 0.0
	j := 0
	for i := range k.at {
		t := float64(i) * k.step
		for j < len(f.t)-2 && f.t[j+1] < t {
			j++
		}
		warmer := interpolate(f.t[j:j+2], f.liquid.at[j:j+2], t) - f.liquid.start
		now := math.Exp(-known.Value * warmer)
		if i > 0 {
			k.at[i] = k.at[i-1] + k.step*(pace+now)/2
			k.by[i] = k.by[i-1] - k.step*(slope+warmer*now)/2
		}
		pace, slope = now, warmer*now
	}
	return k
}

// time is the leak's time at a time after t0, and its derivative by the
// viscosity's change; t and 0 without a clock.
func (x frame) time(t float64) (theta, by float64) {
	if x.clock == nil {
		return t, 0
	}
	k := x.clock
	i := min(max(int(t/k.step), 0), len(k.at)-2)
	share := t/k.step - float64(i)
	return k.at[i] + share*(k.at[i+1]-k.at[i]), k.by[i] + share*(k.by[i+1]-k.by[i])
}

// times is time for each of t.
func (x frame) times(t []float64) []float64 {
	if x.clock == nil {
		return t
	}
	out := make([]float64, len(t))
	for i, ti := range t {
		out[i], _ = x.time(ti)
	}
	return out
}

// viscosityLine is what the doubt about the viscosity's change adds to a
// function of a law; nothing without a clock.
func (f *fitting) viscosityLine(l *law, fn function, r response) uncertainty.Budget {
	known := f.in.Known.ViscosityChange
	if l.thinning == nil || known == nil {
		return nil
	}
	return uncertainty.Budget{{
		Source: SourceViscosity, DegreesOfFreedom: known.DegreesOfFreedom,
		StdUncertainty: math.Abs(fn.byThickening-r.thinning) * known.StdUncertainty,
		Note:           fmt.Sprintf("viscosity changes by %.2g %% per kelvin", 100*known.Value),
	}}
}
