package decay

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// warmed is the warmth that pressurising left in the liquid over one hold,
// A·exp(−t/τ) with t since locking, K. It is held as characterised.
type warmed struct {
	Warming
	// step is by how much τ is moved to see what its doubt does.
	step float64
	// curves are what it is at the readings less what it is at t0, at the
	// points: as characterised, with A less and more by its doubt, with τ
	// likewise.
	curves [][]float64
	// starts are what it is at t0 at the points.
	starts []float64
	placed bool
}

// takeWarming adds the characterised warmth to the liquid.
func (f *fitting) takeWarming() {
	known := f.in.Known.Warming
	if known == nil || f.liquid == nil || f.o.ExactTemperature {
		return
	}
	if !(known.TimeConstant.Value > 0) {
		f.say("the characterised warming after pressurising has no time constant above 0 and was left out")
		return
	}
	w := &warmed{Warming: *known, placed: f.in.Locked <= f.in.Start}
	since := f.in.Start - f.in.Locked
	if !w.placed {
		// all of it or nothing of it is left, or anything between
		since = 0
		a := &w.Amplitude
		a.StdUncertainty = math.Hypot(a.Value/math.Sqrt(12), a.StdUncertainty/2)
		a.Value /= 2
	}
	w.step = min(w.TimeConstant.StdUncertainty, w.TimeConstant.Value/2)
	a, tau, u := w.Amplitude.Value, w.TimeConstant.Value, w.Amplitude.StdUncertainty
	for _, at := range []pair{{a, tau}, {a - u, tau}, {a + u, tau}, {a, tau - w.step}, {a, tau + w.step}} {
		start := at[0] * math.Exp(-since/at[1])
		curve := make([]float64, len(f.t))
		for i, t := range f.t {
			curve[i] = start * math.Expm1(-t/at[1])
		}
		w.curves, w.starts = append(w.curves, curve), append(w.starts, start)
	}
	f.warmed = w
	for _, l := range []*liquid{f.liquid, f.lower, f.upper} {
		if l != nil {
			l.warm(w.curves[0], w.starts[0])
		}
	}
}

// warm adds a curve that is 0 at t0, and what it is counted from.
func (l *liquid) warm(curve []float64, start float64) {
	l.start += start
	for i := range l.at {
		l.at[i] += start + curve[i]
	}
}

// lines returns the budget's lines for a sum that answers to warmth as r.
func (w *warmed) lines(r response, sensitivity float64) uncertainty.Budget {
	at := r.warmed
	byTau := 0.0
	if w.step > 0 {
		byTau = (at[4] - at[3]) / (2 * w.step)
	}
	note := "characterised warmth after pressurising"
	if !w.placed {
		note += ": half of it taken, for the instant of locking is not known"
	}
	return uncertainty.Budget{
		{
			Source: SourceWarming, StdUncertainty: sensitivity * math.Abs(at[2]-at[1]) / 2,
			DegreesOfFreedom: w.Amplitude.DegreesOfFreedom, Note: note,
		},
		{
			Source: SourceWarmingTime, StdUncertainty: sensitivity * math.Abs(byTau) * w.TimeConstant.StdUncertainty,
			DegreesOfFreedom: w.TimeConstant.DegreesOfFreedom, Note: "time constant of that warmth",
		},
	}
}
