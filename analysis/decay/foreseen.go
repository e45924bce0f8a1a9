package decay

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// UnknownLag is the standard uncertainty of a lag between probe and liquid
// that is not characterised, s, where the temperature bends.
const UnknownLag float64 = unknownLag

// Rounding returns the standard uncertainty that a reading's resolution leaves
// in Σ g_i·y_i over readings with Gaussian noise while the quantity moves by
// sweep, all in one unit: what a fit states for it. g are the weights on an
// even grid, however many readings it stands for.
func Rounding(g []float64, resolution, noise, sweep float64) float64 {
	var sum, square float64
	for _, w := range g {
		sum += w
		square += w * w
	}
	quantum := quantisation(resolution, math.Hypot(noise, resolution/math.Sqrt(12)))
	if spread := math.Sqrt(float64(len(g)) * square); math.Abs(sum) < 1e-9*spread {
		sum = 0
	}
	mean := sum * sum / float64(len(g))
	return math.Hypot(stepsIn(math.Sqrt(float64(len(g))*max(0, square-mean)), quantum, resolution, sweep), quantum*sum)
}

// Doubt is one line of what is not known of a characterised course: its
// budget line without a figure, and what one standard uncertainty of it makes
// of the course a time after t0, s, counted from t0.
type Doubt struct {
	uncertainty.Line
	By func(t float64) float64
}

// SettlingDoubts are those of a characterised settling and creep, Pa taken;
// since is the time from locking to t0, s. A creep needs since above 0.
func SettlingDoubts(known Characterised, since float64) (out []Doubt) {
	if s := known.Settling; s != nil && !(s.TimeConstant.Value > 0) {
		known.Settling = nil
	}
	if !(since > 0) {
		known.Creep = nil
	}
	for _, d := range knownSettling(known, since).doubts {
		out = append(out, Doubt{d.Line, d.by})
	}
	return out
}

// WarmingDoubts are those of the characterised warmth after pressurising, K;
// since as for SettlingDoubts.
func WarmingDoubts(known Characterised, since float64) []Doubt {
	w := known.Warming
	if w == nil || !(w.TimeConstant.Value > 0) {
		return nil
	}
	a, tau := w.Amplitude, w.TimeConstant
	left := func(a, tau, t float64) float64 { return a * math.Exp(-since/tau) * math.Expm1(-t/tau) }
	step := min(tau.StdUncertainty, tau.Value/2)
	return []Doubt{
		{
			uncertainty.Line{Source: SourceWarming, DegreesOfFreedom: a.DegreesOfFreedom},
			func(t float64) float64 { return left(a.StdUncertainty, tau.Value, t) },
		},
		{
			uncertainty.Line{Source: SourceWarmingTime, DegreesOfFreedom: tau.DegreesOfFreedom},
			func(t float64) float64 {
				if !(step > 0) {
					return 0
				}
				return (left(a.Value, tau.Value+step, t) - left(a.Value, tau.Value-step, t)) / (2 * step) * tau.StdUncertainty
			},
		},
	}
}
