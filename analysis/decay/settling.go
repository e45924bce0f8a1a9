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
	// step is by how much τ is moved to see what its doubt does.
	step float64
	// curves are what settling has taken at each reading since t0, Pa, at the
	// points; the first is as characterised.
	curves [][]float64
}

func newSettled(s Settling, since, duration float64, t []float64) *settled {
	out := &settled{Settling: s, since: since, duration: duration,
		step: min(s.TimeConstant.StdUncertainty, s.TimeConstant.Value/2)}
	for _, at := range out.points() {
		curve := make([]float64, len(t))
		for i, ti := range t {
			curve[i] = lost(at[0], at[1], since, since+ti)
		}
		out.curves = append(out.curves, curve)
	}
	return out
}

// points are amplitude and time constant as characterised, then with either
// of them less and more by its doubt.
func (s *settled) points() [5]pair {
	a, tau, u := s.Amplitude.Value, s.TimeConstant.Value, s.Amplitude.StdUncertainty
	return [5]pair{{a, tau}, {a - u, tau}, {a + u, tau}, {a, tau - s.step}, {a, tau + s.step}}
}

// until returns what settling takes from t0 to t, Pa, at the points.
func (s *settled) until(t float64) []float64 {
	var out []float64
	for _, at := range s.points() {
		out = append(out, lost(at[0], at[1], s.since, s.since+t))
	}
	return out
}

// lines returns the two lines of a budget for a result that depends on
// settling as its values at the points say.
//
// Source: [1] 5.1.3 note 2, half the difference of the results at
// ± one standard uncertainty.
func (s *settled) lines(at []float64) uncertainty.Budget {
	byTau := 0.0
	if s.step > 0 {
		byTau = (at[4] - at[3]) / (2 * s.step)
	}
	return uncertainty.Budget{
		{
			Source:           SourceSettlingAmplitude,
			StdUncertainty:   math.Abs(at[2]-at[1]) / 2,
			DegreesOfFreedom: s.Amplitude.DegreesOfFreedom,
			Note:             "characterised amplitude of settling",
		},
		{
			Source:           SourceSettlingTime,
			StdUncertainty:   math.Abs(byTau) * s.TimeConstant.StdUncertainty,
			DegreesOfFreedom: s.TimeConstant.DegreesOfFreedom,
			Note:             "characterised time constant of settling",
		},
	}
}

func (f *fitting) takeSettling() {
	s := f.in.Known.Settling
	switch {
	case s == nil:
		f.noSett = "settling of hoses and seals is not characterised: leak and settling are known only as their sum"
	case !(f.in.Locked <= f.in.Start):
		f.noSett = "the instant of locking is not known, so the characterised settling cannot be placed"
	case !(s.TimeConstant.Value > 0):
		f.noSett = "the characterised settling has no time constant above 0"
	default:
		f.settled = newSettled(*s, f.in.Start-f.in.Locked, f.duration, f.t)
	}
}

// settlingRate is the mean rate of the characterised settling; 0 without.
func (f *fitting) settlingRate() float64 {
	if f.settled == nil {
		return 0
	}
	return f.settled.until(f.duration)[0] / f.duration
}
