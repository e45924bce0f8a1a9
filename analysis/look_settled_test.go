package analysis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// hoseHold is a hold without a leak whose settling takes 1.08 bar with
// 60 s: 0.47 bar/min over the first two minutes, 0.21 over all five.
func hoseHold(t *testing.T, size float64) made {
	m := steadyHold()
	m.leak, m.limits = 0, limit(t, "decay_rate 0.5 bar/min")
	m.add = func(s float64) float64 { return -size * bar * (1 - math.Exp(-math.Max(s, 0)/60)) }
	return m
}

// tenths are ten looks at a hold.
func tenths(hold float64) (out []float64) {
	for k := range 10 {
		out = append(out, hold*float64(k+1)/10)
	}
	return out
}

// While a loss settles no look decides, though its mean rate so far be within
// the limit and the rest of the hold can only make it smaller; and nothing is
// used up.
func TestNothingIsDecidedBeforeTheLossHasSettled(t *testing.T) {
	a := atLooks(hoseHold(t, 1.08).hold(), 300, tenths(300)...)
	require.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
	require.Equal(t, 300.0, a.Early.Time, a.Early.Text)
	assert.InDelta(t, 0.215*barPerMin, a.Estimates["decay_rate"].Value, 0.02*barPerMin)
	for _, look := range a.Early.Looks[:7] {
		assert.False(t, look.Judged)
		assert.Equal(t, reasonUnsettled, look.Why)
		assert.Empty(t, look.Limits)
	}
	assert.True(t, a.Diagnostics.StillSettling, "at the hold's own end it is said")
	assert.Equal(t, 1.0, a.Early.Looks[9].Limits[0].Information)
	assert.InDelta(t, 1.645, a.Early.Looks[9].Limits[0].Pass, 0.001, "all of the risk is left")
}

// A slowing that is clear but small beside the limit keeps nobody waiting, and
// is not called settling beside a PASS.
func TestSlowingThatIsSmallBesideTheLimitIsSettled(t *testing.T) {
	m := hoseHold(t, 0.3)
	m.noise = 0.001 * bar
	a := atLooks(m.hold(), 300, tenths(300)...)
	require.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
	require.LessOrEqual(t, a.Early.Time, 90.0, a.Early.Text)
	require.False(t, a.Diagnostics.StillSettling)
	require.NotContains(t, a.Reasons, ReasonStillSettling)
	require.Contains(t, a.Early.Text, "rates are means over the "+Lasting(a.Early.Time)+" held")
	m.duration = a.Early.Time
	require.True(t, Assess(m.hold()).Diagnostics.StillSettling, "clear it is")
}

// A loss that settles and yet breaks the limit with the least that is left of
// it fails at once, by a boundary of its own.
func TestGrossLossFailsThoughItSettles(t *testing.T) {
	m := hoseHold(t, 1.08)
	m.leak = 4 * barPerMin
	a := atLooks(m.hold(), 300, tenths(300)...)
	require.Equal(t, verdict.Fail, a.Verdict, a.Reasons)
	require.LessOrEqual(t, a.Early.Time, 90.0)
	last := a.Early.Looks[len(a.Early.Looks)-1]
	require.True(t, last.Judged)
	assert.True(t, math.IsInf(last.Limits[0].Pass, 1), "nothing passes")
	assert.InDelta(t, 3.891, last.Limits[0].Fail, 0.001, "0.05 in a thousand")
	assert.Greater(t, a.Estimates["decay_rate"].Widened, 2.0)
}

func TestSettledBesideEachLimit(t *testing.T) {
	known := make([]Quantity, 1)
	for text, most := range map[string]float64{
		"decay_rate 0.5 bar/min":           0.375 * barPerMin,
		"leak_flow 1 mL/min":               0.75 * 1e-6 / 60 / 1e-12,
		"pressure_after 10 min min 94 bar": 0.75 * 6 * bar / 600,
		"time_constant min 100 s":          0.75,
		"drop 1 bar":                       math.Inf(1),
	} {
		b := bend{asked: true, flow: 1e-12, level: 100 * bar}
		if text == "time_constant min 100 s" {
			b.level = 100
		}
		b.change = math.Min(0.99*most, 1e9)
		assert.True(t, b.settled(limit(t, text), known), text)
		b.change = 1.01 * most
		assert.Equal(t, math.IsInf(most, 1), b.settled(limit(t, text), known), text)
	}
	b := bend{change: math.NaN()}
	assert.False(t, b.settled(limit(t, "decay_rate 0.5 bar/min"), known), "NaN is not seen")
}

// What settling and warming leave in doubt is a fixed amount of pressure, so
// that a longer hold divides it by its length; what belongs to the rate stays,
// and is what is named.
func TestWhatTimeDividesAndWhatStays(t *testing.T) {
	l := &looking{Looks: Looks{Plan: []float64{300, 900}}, at: TakenLook{At: 300}}
	b := uncertainty.Budget{
		{Source: decay.SourceNoise, StdUncertainty: 9}, {Source: decay.SourceSettlingAmplitude, StdUncertainty: 3},
		{Source: decay.SourceWarming, StdUncertainty: 4.5}, {Source: decay.SourceThermalCoefficient, StdUncertainty: 2},
	}
	_, _, rest := l.grown(Quantity{Budget: b})
	assert.InDelta(t, math.Sqrt(1+1.5*1.5+2*2), rest, 1e-9)
	line, ok := l.left(b).Largest()
	require.True(t, ok)
	assert.Equal(t, decay.SourceThermalCoefficient, line.Source)
}
