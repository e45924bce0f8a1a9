package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A liquid that was pumped up and gives its warmth away, which the probe does
// not see: taken out where characterised, and its doubt propagated as
// derivatives by hand say. Mark L.
func TestWarmthAfterPressurisingIsTakenOut(t *testing.T) {
	const a, tau = 0.4, 120.0
	in := steadyHold()
	warmth := func(t float64) float64 { return a * math.Exp(-(t-50)/tau) }
	for i, at := range in.Pressure.Time {
		in.Pressure.Value[i] += 5 * bar * (warmth(at) - warmth(100))
	}
	without := Fit(in, Options{})
	assert.Greater(t, without.Estimates["decay_rate"].Value, 900.0)
	in.Known.Warming = &Warming{Amplitude: *exactly(a, 0.05), TimeConstant: *exactly(tau, 15)}
	r := Fit(in, Options{})
	rate := r.Estimates["decay_rate"]
	assert.InDelta(t, 500, rate.Value, 1e-3)
	// The least squares slope's response to the curve, by differences.
	w, _ := slopeWeights(r.Curves.Time)
	slope := func(a, tau float64) (sum float64) {
		for i, g := range w {
			sum += g * a * math.Exp(-(r.Curves.Time[i]-50)/tau)
		}
		return sum
	}
	assert.InEpsilon(t, 5*bar*math.Abs(slope(0.05, tau)), budgetLine(t, rate, SourceWarming), 1e-6)
	assert.InEpsilon(t, 5*bar*math.Abs(slope(a, tau+15)-slope(a, tau-15))/2, budgetLine(t, rate, SourceWarmingTime), 1e-6)
	// Where the instant of locking is not known, anything may be left of it.
	in.Locked = math.NaN()
	doubtful := Fit(in, Options{})
	assert.Greater(t, doubtful.Estimates["decay_rate"].StdUncertainty, 1.5*rate.StdUncertainty)
	assert.Contains(t, doubtful.Diagnostics.Notes[0], "instant of locking is not known")
}

// Where it is not characterised nothing is taken out, but a loss that slows
// after a pressure step is said to look like it.
func TestWarmthThatIsNotCharacterisedIsNamed(t *testing.T) {
	in := steadyHold()
	noise := white(1, 500)
	for i, at := range in.Pressure.Time {
		in.Pressure.Value[i] += bar*math.Exp(-(at-100)/60) + noise()
		if at < 40 {
			in.Pressure.Value[i] = 0
		}
	}
	r := Fit(in, Options{})
	assert.True(t, r.Diagnostics.StillSettling)
	assert.Contains(t, r.Diagnostics.Warmth, "pumped up by 101")
	for i, at := range in.Pressure.Time {
		if at < 40 {
			in.Pressure.Value[i] = 99 * bar
		}
	}
	assert.Empty(t, Fit(in, Options{}).Diagnostics.Warmth)
}
