package decay

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// lost returns the pressure that settling has taken between two times since
// locking (s): A(e^(−from/τ) − e^(−to/τ)), in Pa.
func lost(amplitude, tau, from, to float64) float64 {
	return amplitude * (math.Exp(-from/tau) - math.Exp(-to/tau))
}

// settled is a characterised settling over one hold. Times are counted from
// t0; since is t0 − tl.
type settled struct {
	Settling
	since, duration float64
	t               []float64
}

// curve returns what settling has taken at each reading since t0, Pa.
func (s settled) curve(amplitude, tau float64) []float64 {
	out := make([]float64, len(s.t))
	first := math.Exp(-s.since / tau)
	for i, t := range s.t {
		out[i] = amplitude * (first - math.Exp(-(s.since+t)/tau))
	}
	return out
}

// total returns what settling takes over the hold, Pa.
func (s settled) total(amplitude, tau float64) float64 {
	return lost(amplitude, tau, s.since, s.since+s.duration)
}

// lines returns the two lines of a budget for a result that depends on
// settling through of(A, τ).
//
// Source: [1] 5.1.3 note 2, half the difference of the results at
// ± one standard uncertainty.
func (s settled) lines(of func(amplitude, tau float64) float64) uncertainty.Budget {
	a, tau := s.Amplitude, s.TimeConstant
	step := min(tau.StdUncertainty, tau.Value/2)
	byTau := 0.0
	if step > 0 {
		byTau = (of(a.Value, tau.Value+step) - of(a.Value, tau.Value-step)) / (2 * step)
	}
	return uncertainty.Budget{
		{
			Source:           SourceSettlingAmplitude,
			StdUncertainty:   math.Abs(of(a.Value+a.StdUncertainty, tau.Value)-of(a.Value-a.StdUncertainty, tau.Value)) / 2,
			DegreesOfFreedom: a.DegreesOfFreedom,
			Note:             "characterised amplitude of settling",
		},
		{
			Source:           SourceSettlingTime,
			StdUncertainty:   math.Abs(byTau) * tau.StdUncertainty,
			DegreesOfFreedom: tau.DegreesOfFreedom,
			Note:             "characterised time constant of settling",
		},
	}
}
