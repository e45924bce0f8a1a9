package decay

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// sinceLocking returns what settling of an amplitude of 1 takes in a time after
// since, both s: e^(−since/τ)·(1 − e^(−t/τ)).
func sinceLocking(tau, since float64) func(t float64) float64 {
	rate := 1 / tau
	left := math.Exp(-since * rate)
	return func(t float64) float64 { return left * (1 - math.Exp(-t*rate)) }
}

// creptBy returns the pressure that a creep of c Pa per decade has taken
// between two times since locking.
func creptBy(c, from, to float64) float64 { return c * math.Log10(to/from) }

// settled is a characterised settling over one hold: what it takes, and by
// how much that changes with each of its doubts, one standard uncertainty of
// it, the doubts independent of one another.
type settled struct {
	// of is what is taken from t0 to a time after it, Pa.
	of     func(t float64) float64
	doubts []settlingDoubt
	// curves are of and the doubts at the readings.
	curves [][]float64
}

type settlingDoubt struct {
	uncertainty.Line
	by func(t float64) float64
}

// knownSettling returns the characterised settling; since is the time from
// locking to t0.
func knownSettling(known Characterised, since float64) *settled {
	var parts []settled
	if known.Settling != nil {
		parts = append(parts, ending(*known.Settling, since))
	}
	if c := known.Creep; c != nil {
		parts = append(parts, settled{
			of: func(t float64) float64 { return creptBy(c.Value, since, since+t) },
			doubts: []settlingDoubt{{
				Line: uncertainty.Line{Source: SourceCreep, DegreesOfFreedom: c.DegreesOfFreedom, Note: "characterised creep"},
				by:   func(t float64) float64 { return creptBy(c.StdUncertainty, since, since+t) },
			}},
		})
	}
	out := settled{of: func(t float64) (sum float64) {
		for _, p := range parts {
			sum += p.of(t)
		}
		return sum
	}}
	for _, p := range parts {
		out.doubts = append(out.doubts, p.doubts...)
	}
	return &out
}

// ending is a settling that ends. The doubt about its amplitude carries with
// it what of the time constant's goes with it.
//
// Source: [1] 5.1.3 note 2, half the difference of the results at ± one
// standard uncertainty; 5.2.2 for the correlation.
func ending(s Settling, since float64) settled {
	a, tau := s.Amplitude, s.TimeConstant
	step := min(tau.StdUncertainty, tau.Value/2)
	as, slow, quick := sinceLocking(tau.Value, since), sinceLocking(tau.Value+step, since), sinceLocking(tau.Value-step, since)
	byTau := func(t float64) float64 {
		if !(step > 0) {
			return 0
		}
		return a.Value * (slow(t) - quick(t)) / (2 * step) * tau.StdUncertainty
	}
	r := min(max(s.Correlation, -1), 1)
	return settled{
		of: func(t float64) float64 { return a.Value * as(t) },
		doubts: []settlingDoubt{
			{
				Line: uncertainty.Line{Source: SourceSettlingAmplitude, DegreesOfFreedom: a.DegreesOfFreedom, Note: "characterised amplitude of settling"},
				by: func(t float64) float64 {
					alone := a.StdUncertainty * as(t)
					if r == 0 {
						return alone
					}
					return alone + r*byTau(t)
				},
			},
			{
				Line: uncertainty.Line{Source: SourceSettlingTime, DegreesOfFreedom: tau.DegreesOfFreedom, Note: "characterised time constant of settling"},
				by:   func(t float64) float64 { return math.Sqrt(1-r*r) * byTau(t) },
			},
		},
	}
}

// over fills the curves.
func (s *settled) over(t []float64) {
	s.curves = table(1+len(s.doubts), len(t))
	for i, ti := range t {
		s.curves[0][i] = s.of(ti)
	}
	for k, d := range s.doubts {
		for i, ti := range t {
			s.curves[1+k][i] = d.by(ti)
		}
	}
}

// until returns what settling takes from t0 to t, Pa, and each of its doubts.
func (s *settled) until(t float64) []float64 {
	out := []float64{s.of(t)}
	for _, d := range s.doubts {
		out = append(out, d.by(t))
	}
	return out
}

// lines returns the lines of a budget for a result that depends on settling
// as its values for settling and for each doubt say.
func (s *settled) lines(at []float64) uncertainty.Budget {
	var out uncertainty.Budget
	for k, d := range s.doubts {
		line := d.Line
		line.StdUncertainty = math.Abs(at[1+k])
		out = append(out, line)
	}
	return out
}

func (f *fitting) takeSettling() {
	known := f.in.Known
	s := known.Settling
	switch {
	case s == nil && known.Creep == nil:
		f.noSett = "settling of hoses and seals is not characterised: leak and settling are known only as their sum"
	case !(f.in.Locked <= f.in.Start):
		f.noSett = "the instant of locking is not known, so the characterised settling cannot be placed"
	case s != nil && !(s.TimeConstant.Value > 0):
		f.noSett = "the characterised settling has no time constant above 0"
	case known.Creep != nil && !(f.in.Locked < f.in.Start):
		f.noSett = "the hold began at the instant of locking, where a creep over the logarithm of time has no beginning"
	default:
		f.settled = knownSettling(known, f.in.Start-f.in.Locked)
		f.settled.over(f.t)
	}
}

// settlingRate is the mean rate of the characterised settling; 0 without.
func (f *fitting) settlingRate() float64 {
	if f.settled == nil {
		return 0
	}
	return f.settled.until(f.duration)[0] / f.duration
}

// pair is an amplitude with its time constant.
type pair [2]float64
