package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A hold with a leak of 500 Pa/s and settling of 0.8 bar, τ 150 s, locked 50 s
// before t0.
func settlingHold() Input {
	in := steadyHold()
	in.Pressure = withNoise(in.Pressure, func() float64 { return 0 })
	for i, t := range in.Pressure.Time {
		in.Pressure.Value[i] += 0.8 * bar * math.Exp(-(t-50)/150)
	}
	in.Known.Settling = &Settling{Amplitude: *exactly(0.8*bar, 0.1*bar), TimeConstant: *exactly(150, 20)}
	in.Known.Stiffness = exactly(20*bar/1e-6, 2*bar/1e-6)
	return in
}

func TestSettlingIsPartedFromTheLeakWhereCharacterised(t *testing.T) {
	r := Fit(settlingHold(), Options{After: []float64{300}})
	e := r.Estimates
	settling := 0.8 * bar * (math.Exp(-50.0/150) - math.Exp(-350.0/150))
	assert.InDelta(t, settling, e["settling"].Value, 1e-6)
	assert.InDelta(t, 500, e["leak_rate"].Value, 1e-6)
	assert.InDelta(t, 500*300+settling, e["drop"].Value, 1e-3, "settling included")
	assert.InDelta(t, e["drop"].Value/300, e["decay_rate"].Value, 1e-9)
	assert.InDelta(t, (e["drop"].Value-e["settling"].Value)/300, e["leak_rate"].Value, 1e-9)
	assert.InDelta(t, 500/(20*bar/1e-6), e["leak_flow"].Value, 1e-18)
	assert.InDelta(t, 0.1*e["leak_flow"].Value, budgetLine(t, e["leak_flow"], SourceStiffness), 1e-18)
	assert.False(t, r.Diagnostics.StillSettling, "what is characterised is taken out")
	start := r.Curves.Compensated[0]
	assert.InDelta(t, start-500*300-settling, e["pressure_after"].Value, 1e-2)
	for i := range r.Curves.Time {
		require.InDelta(t, r.Curves.Compensated[i], r.Curves.Fitted[i], 1e-3)
	}
}

// The two lines for settling are the propagation of A and τ: compared with
// derivatives by hand for settling itself. Mark L.
func TestSettlingUncertaintyIsPropagated(t *testing.T) {
	in := settlingHold()
	in.Locked = 90
	e := Fit(in, Options{}).Estimates["settling"]
	a, tau, u1, u2 := 0.8*bar, 150.0, 10.0, 310.0
	byA := math.Exp(-u1/tau) - math.Exp(-u2/tau)
	byTau := a * (u1*math.Exp(-u1/tau) - u2*math.Exp(-u2/tau)) / (tau * tau)
	assert.InEpsilon(t, byA*0.1*bar, budgetLine(t, e, SourceSettlingAmplitude), 1e-9)
	assert.InEpsilon(t, math.Abs(byTau)*20, budgetLine(t, e, SourceSettlingTime), 0.02)
}

// A wrong amplitude moves the leak rate by what its line says.
func TestLeakRateCarriesTheSettlingsDoubt(t *testing.T) {
	in := settlingHold()
	right := Fit(in, Options{}).Estimates
	in.Known.Settling.Amplitude.Value += 0.1 * bar
	wrong := Fit(in, Options{}).Estimates
	assert.InEpsilon(t, budgetLine(t, right["leak_rate"], SourceSettlingAmplitude),
		math.Abs(wrong["leak_rate"].Value-right["leak_rate"].Value), 1e-6)
	assert.Less(t, budgetLine(t, right["decay_rate"], SourceSettlingAmplitude),
		budgetLine(t, right["leak_rate"], SourceSettlingAmplitude)/4, "the sum is known better than its parts")
}

// What a characterised settling leaves because its figures are a little off
// is no settling of its own, nor the mark of another law.
func TestDoubtAboutSettlingIsNoSettling(t *testing.T) {
	for _, off := range []float64{-0.1, 0.1} {
		in := settlingHold()
		in.Pressure = withNoise(in.Pressure, white(9, 500))
		in.Known.Settling.Amplitude.Value += off * bar
		r := Fit(in, Options{})
		assert.False(t, r.Diagnostics.StillSettling)
		assert.Empty(t, r.Estimates["time_constant"].Absent)
		in.Known.Settling.Amplitude.StdUncertainty = 0
		in.Known.Settling.TimeConstant.StdUncertainty = 0
		r = Fit(in, Options{})
		assert.Equal(t, off < 0, r.Diagnostics.StillSettling, "were they beyond doubt, it would be")
		assert.NotEmpty(t, r.Estimates["time_constant"].Absent, "then no law explains the hold")
	}
}

func TestAbsentEstimatesSayWhy(t *testing.T) {
	in := steadyHold()
	e := Fit(in, Options{}).Estimates
	assert.Len(t, e, len(quantities))
	for name, want := range map[string]string{
		"settling": "not characterised", "leak_rate": "only as their sum", "leak_flow": "only as their sum",
		"leak_rate_at_test_pressure": "only as their sum", "pressure_after": "no time", "stiffness": "not characterised",
	} {
		assert.Contains(t, e[name].Absent, want, name)
		assert.True(t, math.IsNaN(e[name].Value), name)
	}
	assert.Equal(t, 5*bar, e["thermal_coefficient"].Value)

	in = settlingHold()
	in.Known.Stiffness = nil
	assert.Contains(t, Fit(in, Options{}).Estimates["leak_flow"].Absent, "stiffness")
	in.Locked = math.NaN()
	assert.Contains(t, Fit(in, Options{}).Estimates["leak_rate"].Absent, "locking")

	in = steadyHold()
	in.Temperature.Time, in.Temperature.Value = nil, nil
	r := Fit(in, Options{After: []float64{60}})
	for _, name := range []string{"drop", "decay_rate", "pressure_after"} {
		assert.Contains(t, r.Estimates[name].Absent, "no temperature channel", name)
	}
	assert.Empty(t, r.Estimates["pressure_end"].Absent)
	assert.Empty(t, r.Curves.LiquidTemperature)
	assert.Len(t, r.Curves.Fitted, len(r.Curves.Time))

	in.Pressure.Time, in.Pressure.Value = nil, nil
	r = Fit(in, Options{After: []float64{60}})
	assert.Contains(t, r.Estimates["pressure_end"].Absent, "fewer than 3")
	assert.Contains(t, r.After[0].Absent, "fewer than 3")
	assert.Len(t, r.Estimates, len(quantities))
}

// Without a characterised coefficient nothing is compensated, and 12 bar/K
// times the change of temperature is the doubt.
func TestUnknownCoefficientIsBounded(t *testing.T) {
	in := steadyHold()
	in.Known.ThermalCoefficient = nil
	r := Fit(in, Options{})
	rate := r.Estimates["decay_rate"]
	assert.InDelta(t, r.Diagnostics.RawRate, rate.Value, 1e-6)
	assert.InDelta(t, 12*bar*3/3600, budgetLine(t, rate, SourceThermalCoefficient), 1e-6)
	assert.Contains(t, r.Estimates["thermal_coefficient"].Absent, "not characterised")
}
