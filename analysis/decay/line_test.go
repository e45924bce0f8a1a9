package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The weights that carry temperature into the slope are those of the fit.
func TestSlopeAndLevelWeightsAreThoseOfTheFit(t *testing.T) {
	noise := white(1, 3)
	c := sampled(0, 90, 0.7, func(t float64) float64 { return 1e7 - 40*t + noise() })
	l, err := straightLine(c.Time, c.Value)
	require.NoError(t, err)
	w, _ := slopeWeights(c.Time)
	assert.InDelta(t, l.c[1], weighted(w, c.Value), 1e-9)
	assert.InDelta(t, l.c[1], weightedSum(l.weights(function{by: vector{0, 1}}), c.Value), 1e-6)
	level := l.at(l.c, l.frame, 200)
	assert.InDelta(t, level.value, weightedSum(l.weights(level), c.Value), 1e-6)
}

// GUM H.3.6: an offset common to all readings leaves the slope and its
// uncertainty untouched; so does shifting time. Mark L.
func TestLawOffsetAndTimeShiftLeaveTheRate(t *testing.T) {
	t.Parallel()
	in := steadyHold()
	in.Pressure = withNoise(in.Pressure, white(2, 1000))
	in.Temperature = withNoise(in.Temperature, white(3, 0.02))
	want := Fit(in, Options{}).Estimates["decay_rate"]

	moved := in
	moved.Pressure = withNoise(in.Pressure, func() float64 { return 3 * bar })
	moved.Temperature = withNoise(in.Temperature, func() float64 { return -7 })
	moved.Transducer.Offset, moved.Transducer.Calibration = 5*bar, 5*bar
	got := Fit(moved, Options{}).Estimates["decay_rate"]
	assert.InEpsilon(t, want.Value, got.Value, 1e-7)
	assert.InEpsilon(t, want.StdUncertainty, got.StdUncertainty, 1e-7)

	later := in
	shift := func(times []float64) (out []float64) {
		for _, v := range times {
			out = append(out, v+4096)
		}
		return out
	}
	later.Start, later.End, later.Locked = in.Start+4096, in.End+4096, in.Locked+4096
	later.Pressure.Time, later.Temperature.Time = shift(in.Pressure.Time), shift(in.Temperature.Time)
	got = Fit(later, Options{}).Estimates["decay_rate"]
	assert.InEpsilon(t, want.Value, got.Value, 1e-7)
	assert.InEpsilon(t, want.StdUncertainty, got.StdUncertainty, 1e-6)
}

// With a sign turned or compensation left out the rate would be 0.3 ∓ 0.25
// bar/min and more; without noise it is exact.
func TestCompensationTakesTheTemperatureOut(t *testing.T) {
	t.Parallel()
	r := Fit(steadyHold(), Options{After: []float64{600}})
	rate := r.Estimates["decay_rate"]
	assert.InDelta(t, 500, rate.Value, 1e-6)
	assert.InDelta(t, 500-5*bar*3/3600, r.Diagnostics.RawRate, 1e-6)
	assert.InDelta(t, 150_000, r.Estimates["drop"].Value, 1e-3)
	assert.InDelta(t, 0.25, r.Diagnostics.TemperatureChange, 1e-3)
	assert.InDelta(t, 0.5*bar*3/3600, rate.StdUncertainty, 1e-3, "u_B times the temperature's rate, once")
	for i, c := range r.Curves.Compensated {
		assert.InDelta(t, 100*bar-500*(r.Curves.Time[i]-100), c, 1e-3)
		assert.InDelta(t, c, r.Curves.Fitted[i], 1e-3)
	}
	end, after := r.Estimates["pressure_end"], r.Estimates["pressure_after"]
	assert.InDelta(t, 100*bar-150_000+5*bar*0.25, end.Value, 1, "as measured")
	assert.InDelta(t, 100*bar-300_000, after.Value, 1e-2, "600 s after t0 at constant temperature")
	assert.InDelta(t, 0.5*bar*3/3600*600, budgetLine(t, after, SourceThermalCoefficient), 1)
	assert.InEpsilon(t, 0.5*bar*3/3600*600, after.StdUncertainty, 0.01, "little else")
	assert.InDelta(t, 100*bar, r.StartPressure.Value, 1)
}

// A loss that slows as settling does is seen; one that follows its law is
// called so about once in a hundred, also when its noise is autocorrelated.
func TestCurvatureSeesSettling(t *testing.T) {
	t.Parallel()
	in := steadyHold()
	in.Pressure = withNoise(in.Pressure, white(4, 1000))
	in.Temperature = withNoise(in.Temperature, white(5, 0.01))
	assert.False(t, Fit(in, Options{}).Diagnostics.StillSettling)
	settling := in
	settling.Pressure.Value = append([]float64(nil), in.Pressure.Value...)
	for i, at := range in.Pressure.Time {
		settling.Pressure.Value[i] += 20_000 * math.Exp(-(at-100)/120)
	}
	d := Fit(settling, Options{}).Diagnostics
	assert.True(t, d.StillSettling)
	assert.Greater(t, d.CurvatureT, 5.0)
	for i, at := range in.Pressure.Time {
		settling.Pressure.Value[i] = in.Pressure.Value[i] - 20_000*math.Exp(-(at-100)/120)
	}
	d = Fit(settling, Options{}).Diagnostics
	assert.False(t, d.StillSettling, "a loss that quickens does not settle")
	assert.Less(t, d.CurvatureT, -5.0)
}

func TestCurvatureFalseAlarms(t *testing.T) {
	t.Parallel()
	for _, m := range known(lawTruth) {
		for _, phi := range []float64{0, 0.9} {
			const runs = 600
			alarms := 0
			x := frame{middle: 250}
			for seed := range uint64(runs) {
				r := rand.New(rand.NewPCG(seed, 21))
				noise := 0.0
				c := sampled(0, 500, 1, func(t float64) float64 {
					noise = phi*noise + math.Sqrt(1-phi*phi)*r.NormFloat64()
					return m.at(lawTruth[m.name], x, t).value + 1000*noise
				})
				l, err := m.lay(c.Time, c.Value, x)
				require.NoError(t, err)
				b, ok := curvature(c.Time, l, nil)
				require.True(t, ok)
				if _, _, slows := b.significant(0); slows {
					alarms++
				}
			}
			t.Logf("%s, φ = %g: %d alarms in %d", m.name, phi, alarms, runs)
			assert.LessOrEqual(t, alarms, runs*3/100, "1 %% is claimed")
		}
	}
}

// Plain residuals are not enough: the factor must reach the estimate.
func TestAutocorrelationWidensTheRate(t *testing.T) {
	in := steadyHold()
	r := rand.New(rand.NewPCG(8, 8))
	x := 0.0
	in.Pressure = withNoise(in.Pressure, func() float64 {
		x = 0.9*x + math.Sqrt(1-0.81)*1000*r.NormFloat64()
		return x
	})
	f := Fit(in, Options{})
	white := f.Diagnostics.Noise * math.Sqrt(12/float64(f.Diagnostics.Readings)) / 300
	assert.InEpsilon(t, math.Sqrt(1.9/0.1), budgetLine(t, f.Estimates["decay_rate"], SourceNoise)/white, 0.1)
	assert.InEpsilon(t, float64(f.Diagnostics.Readings)*0.1/1.9, f.Diagnostics.EffectiveReadings, 0.2)
	assert.Greater(t, f.Diagnostics.BlockMeanRateU, 2*white, "block means tell the same")
}
