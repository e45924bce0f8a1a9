package decay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// A round gap of 20 µm by 10 mm lets oil of 15 mPa·s at 10 MPa out of 100 mL
// of 1.4 GPa. Figures as printed there, each computed again from the formula.
//
// Source: Hagen–Poiseuille, q = π·d⁴·Δp/(128·μ·L) (mark M); figures mark C.
var gap = struct {
	d, length, viscosity, pressure, volume, modulus float64 // SI
	flow, compliance, tau                           float64 // m³/s, m³/Pa, s
}{
	20e-6, 10e-3, 15e-3, 10e6, 100e-6, 1.4e9,
	15.708e-9 / 60, 7.143e-14, 2728.4,
}

// The volume is emptied step by step through the gap, so that no closed form
// is compared with itself, while the bench warms and hoses settle or not; the
// fit finds τ, and at the test pressure the flow.
func TestLaminarGapIsRecovered(t *testing.T) {
	resistance := 128 * gap.viscosity * gap.length / (math.Pi * math.Pow(gap.d, 4))
	assert.InDelta(t, gap.flow, gap.pressure/resistance, 0.0005e-9/60)
	assert.InDelta(t, gap.compliance, gap.volume/gap.modulus, 0.0005e-14)
	assert.InDelta(t, gap.tau, resistance*gap.volume/gap.modulus, 0.05)

	for name, c := range map[string]struct{ warming, amplitude float64 }{
		"at rest":                       {0, 0},
		"while the bench warms":         {3e-3, 0}, // K/s, +1.5 bar/min
		"while the bench cools":         {-2e-3, 0},
		"while hoses settle":            {0, 2 * bar},
		"while all of it goes on":       {2e-3, 2 * bar},
		"while it warms past all leaks": {0.01, 0},
	} {
		t.Run(name, func(t *testing.T) {
			const b, tau = 5 * bar, 150.0
			settles := func(t float64) float64 { return lost(c.amplitude, tau, 50, 50+t) }
			pressures := emptied(resistance, gap.volume/gap.modulus, gap.pressure, 600, func(t float64) float64 { return b*c.warming*t - settles(t) })
			noise := white(6, 1000)
			in := Input{
				Start: 0, End: 600, Locked: -50, TestPressure: gap.pressure,
				Temperature: sampled(0, 600, 0.5, func(t float64) float64 { return 293 + c.warming*t }),
				Pressure:    withNoise(pressures, noise),
				Known: Characterised{
					ThermalCoefficient: exactly(b, 0), Stiffness: exactly(1/gap.compliance, 0),
					Settling: &Settling{Amplitude: *exactly(c.amplitude, 0), TimeConstant: *exactly(tau, 0)},
				},
			}
			r := Fit(in, Options{})
			assert.Equal(t, Exponential, r.Diagnostics.Law, r.Diagnostics.LawReason)
			assert.False(t, r.Diagnostics.StillSettling, "a leak slows, and that is all")
			e := r.Estimates["time_constant"]
			require.Empty(t, e.Absent)
			low, high := e.Interval(0.999)
			t.Logf("τ %.2f ± %.2f s, %s", e.Value, e.StdUncertainty, r.Diagnostics.LawReason)
			assert.Less(t, low, gap.tau+0.05)
			assert.Greater(t, high, gap.tau-0.05)
			assert.InEpsilon(t, gap.tau, e.Value, 1e-3)
			atTest := r.Estimates["leak_rate_at_test_pressure"]
			require.Empty(t, atTest.Absent)
			assert.InEpsilon(t, 15.708, atTest.Value*gap.compliance*60e9, 1e-3, "mm³/min")
		})
	}
}

// emptied is the pressure, 10 times a second, of a volume with a gap to 0 Pa,
// to which other things add; in steps of 1 ms, by the midpoint rule.
func emptied(resistance, compliance, start, duration float64, added func(t float64) float64) (out series.Column) {
	const step = 1e-3
	leaked := 0.0
	for i := 0; ; i++ {
		t := float64(i) * step
		if i%100 == 0 {
			out.Time, out.Value = append(out.Time, t), append(out.Value, start-leaked+added(t))
		}
		if t >= duration {
			return out
		}
		half := leaked + step/2*(start-leaked+added(t))/(resistance*compliance)
		leaked += step * (start - half + added(t+step/2)) / (resistance * compliance)
	}
}

// A prediction far ahead follows the exponential, and its interval holds.
func TestPressureAfterFollowsTheExponential(t *testing.T) {
	times := []float64{300, 3000, 30000}
	r := Fit(lawHold(exponential, 1, 1000, 0), Options{After: times})
	for i, at := range times {
		want := exponential.at(lawTruth[Exponential], frame{}, at).value
		assert.InDelta(t, want, r.After[i].Value, 3*r.After[i].StdUncertainty)
		assert.Less(t, r.After[i].StdUncertainty, 0.05*bar)
	}
	assert.Equal(t, r.After[0], r.Estimates["pressure_after"])
}

// τ goes through 1/τ: its interval is lopsided, and where 1/τ is not clearly
// above 0 there is none, but still a 1/τ.
func TestTimeConstantHasAnEndOrIsAbsent(t *testing.T) {
	r := Fit(lawHold(exponential, 3, 1*bar, 0), Options{})
	e := r.Estimates["time_constant"]
	require.Empty(t, e.Absent)
	low, high := e.Interval(0.95)
	assert.Greater(t, high-e.Value, 1.02*(e.Value-low))
	assert.InEpsilon(t, 1/e.Value, e.Reciprocal.Value, 1e-12)
	half := e.Times(math.Ln2)
	assert.InEpsilon(t, e.Value*math.Ln2, half.Value, 1e-12)
	halfLow, halfHigh := half.Interval(0.95)
	assert.InEpsilon(t, low*math.Ln2, halfLow, 1e-12)
	assert.InEpsilon(t, high*math.Ln2, halfHigh, 1e-12)

	in := steadyHold()
	in.Known.ThermalCoefficient = exactly(5*bar, 3*bar) // 0.3 ± 0.15 bar/min
	e = Fit(in, Options{}).Estimates["time_constant"]
	assert.Empty(t, e.Absent)
	in.Known.ThermalCoefficient = exactly(5*bar, 4*bar) // 0.3 ± 0.2 bar/min
	e = Fit(in, Options{}).Estimates["time_constant"]
	assert.Contains(t, e.Absent, "reaches infinity")
	assert.True(t, math.IsNaN(e.Value))
	require.NotNil(t, e.Reciprocal)
	assert.InEpsilon(t, 500/(100*bar), e.Reciprocal.Value, 0.02)
	assert.InEpsilon(t, 4*bar*3/3600/(100*bar), e.Reciprocal.StdUncertainty, 0.02)
	_, high = e.Interval(0.95)
	assert.True(t, math.IsInf(high, 1))

	rising := steadyHold()
	for i, t := range rising.Pressure.Time {
		rising.Pressure.Value[i] += 700 * (t - 100)
	}
	r = Fit(rising, Options{})
	assert.Equal(t, Line, r.Diagnostics.Law)
	assert.Contains(t, r.Diagnostics.LawReason, "does not fall")
	assert.True(t, math.IsNaN(r.Diagnostics.AICcExponential))
	e = r.Estimates["time_constant"]
	assert.Contains(t, e.Absent, "reaches infinity")
	assert.Negative(t, e.Reciprocal.Value)
	assert.Contains(t, e.Times(math.Ln2).Absent, "reaches infinity")
}

// A loss that does not slow as a leak towards the sink would has no time
// constant, but still a relative rate.
func TestStraightLossHasNoTimeConstant(t *testing.T) {
	r := Fit(lawHold(straight, 5, 500, 0), Options{})
	assert.Equal(t, Line, r.Diagnostics.Law)
	assert.Less(t, r.Diagnostics.AICcLine, r.Diagnostics.AICcExponential)
	assert.Contains(t, r.Diagnostics.LawReason, "is larger by")
	e := r.Estimates["time_constant"]
	assert.Contains(t, e.Absent, "does not fall exponentially")
	assert.InEpsilon(t, 10.0/300/95, e.Reciprocal.Value, 1e-3)
}

// Where laws cannot be told apart the line is taken, what it says of the test
// pressure carries the doubt, and all is as with the line alone.
func TestIndistinguishableLawsGiveTheLine(t *testing.T) {
	in := settlingHold()
	in.Pressure = withNoise(in.Pressure, white(8, 0.1*bar))
	in.TestPressure = 110 * bar
	r := Fit(in, Options{})
	d := r.Diagnostics
	assert.Equal(t, Line, d.Law)
	assert.Less(t, math.Abs(d.AICcLine-d.AICcExponential), 2.0)
	assert.Contains(t, d.LawReason, "over a loss of 1.5 % it cannot be told from an exponential (AICc 0.5 apart) or an orifice's parabola (AICc 0.2 apart) towards 0.00 bar (the vented feed side)")
	leak, atTest := r.Estimates["leak_rate"], r.Estimates["leak_rate_at_test_pressure"]
	assert.InEpsilon(t, leak.Value, atTest.Value, 1e-12)
	height := mean(r.Curves.Measured) / bar
	whole := leak.Value * (110/height - 1) // the exponential's rate at 110 bar less the line's
	assert.InDelta(t, whole*math.Sqrt((1+0.25)/3), budgetLine(t, atTest, SourceLaw), 0.1*whole, "exponential and orifice, half as far, count a third each")
	assert.Greater(t, atTest.StdUncertainty, leak.StdUncertainty)

	in.TestPressure = 0
	assert.Contains(t, Fit(in, Options{}).Estimates["leak_rate_at_test_pressure"].Absent, "test pressure")
}

// The sink's doubt is the doubt of the height above it: u(1/τ) = u/(p − sink)/τ.
func TestSinkCounts(t *testing.T) {
	in := lawHold(exponential, 9, 1000, 0)
	in.Sink = Sink{Pressure: uncertainty.Estimate{Value: 20 * bar, StdUncertainty: 1 * bar, DegreesOfFreedom: math.Inf(1)}, Source: "a return line"}
	for i, t := range in.Pressure.Time {
		in.Pressure.Value[i] = 20*bar + 80*bar*math.Exp(-t/2000) + 1000*rand.New(rand.NewPCG(uint64(i), 1)).NormFloat64()
	}
	r := Fit(in, Options{})
	e := r.Estimates["time_constant"]
	assert.InEpsilon(t, 2000, e.Value, 1e-3)
	assert.Contains(t, r.Diagnostics.LawReason, "towards 20.00 bar (a return line)")
	moved := in
	moved.Sink.Pressure.Value += 1 * bar
	by := Fit(moved, Options{}).Estimates["time_constant"].Reciprocal.Value - e.Reciprocal.Value
	assert.InEpsilon(t, math.Abs(by), budgetLine(t, *e.Reciprocal, SourceSink), 0.03)
	assert.InEpsilon(t, 1.0/74/2000, budgetLine(t, *e.Reciprocal, SourceSink), 0.15)
}
