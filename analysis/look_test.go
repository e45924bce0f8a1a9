package analysis

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

func limit(t *testing.T, text string) []verdict.Limit {
	t.Helper()
	l, err := verdict.Parse(text, math.NaN())
	require.NoError(t, err)
	return []verdict.Limit{l}
}

// atLooks is the hold at each look of a plan, as far as it goes on, and the
// last assessment.
func atLooks(h Hold, own float64, plan ...float64) Assessment {
	looks := Looks{Plan: plan, Hold: own}
	var a Assessment
	for i, at := range plan {
		looks.Taken = append(slices.Clone(looks.Taken), TakenLook{Number: i + 1, At: h.Start + at})
		with := looks
		h.Looks = &with
		a = Assess(h)
		if a.Verdict != verdict.Inconclusive || at >= own && !a.Early.GoOn {
			break
		}
	}
	return a
}

// twelfths are twelve looks from a tenth of a hold.
func twelfths(hold float64) []float64 {
	var out []float64
	for k := range 12 {
		out = append(out, hold*(0.1+0.9*float64(k)/11))
	}
	return out
}

func steadyHold() made {
	return made{
		seed: 3, before: 30, duration: 300, interval: 0.5, tempInterval: 1, start: 100 * bar, b: 5 * bar,
		ramp: 0.1 * kPerHour, noise: 0.01 * bar, tempNoise: 0.005, prior: normal(5*bar, 0.2*bar, si.ThermalCoefficient),
	}
}

func TestTightUnitPassesEarly(t *testing.T) {
	m := steadyHold()
	m.leak, m.limits = 0.02*barPerMin, limit(t, "decay_rate 0.5 bar/min")
	a := atLooks(m.hold(), 300, twelfths(300)...)
	require.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
	require.True(t, a.Valid && a.Completed)
	require.True(t, a.Early.Stopped)
	require.False(t, a.Early.Extended || a.Early.GoOn)
	assert.Less(t, a.Early.Time, 150.0)
	assert.Equal(t, a.Early.Time, a.End-a.Start, "judged up to the look")
	assert.Contains(t, a.Early.Text, "decided early, at look ")
	assert.Contains(t, a.Reasons, a.Early.Text)

	e := a.Estimates["decay_rate"]
	low, high := e.Interval(0.95)
	plain, _ := e.Estimate.Interval(0.95)
	assert.Less(t, low, plain, "the interval allows for the looks")
	assert.Less(t, high, 0.5*barPerMin)
	assert.InDelta(t, e.Value-low, high-e.Value, 1e-9*e.Value, "evenly")
	assert.Greater(t, a.Estimates["drop"].Widened, 1.0)
	assert.Equal(t, 0.05, a.Decisions[0].Limit.RiskPass, "the limit stays as it was stated")

	last := a.Early.Looks[len(a.Early.Looks)-1].Limits[0]
	assert.Greater(t, last.Pass, 1.645, "a look costs something")
	assert.InDelta(t, math.Pow(a.Early.Time/300, 3), last.Information, 0.02, "white noise")
}

func TestGrossLeakerFailsAtTheFirstLook(t *testing.T) {
	m := steadyHold()
	m.leak, m.limits = 3*barPerMin, limit(t, "decay_rate 0.5 bar/min")
	a := atLooks(m.hold(), 300, twelfths(300)...)
	require.Equal(t, verdict.Fail, a.Verdict, a.Reasons)
	assert.Len(t, a.Early.Looks, 1)
	assert.Equal(t, verdict.Fail, a.Early.Looks[0].Verdict)
}

// digits writes estimates with all their digits; NaN is equal to itself here.
func digits(estimates map[string]Quantity) string {
	var out string
	for _, row := range verdict.Quantities {
		q := estimates[row.Name]
		if q.Reciprocal != nil {
			out += fmt.Sprintf("1/%+v\n", *q.Reciprocal)
			q.Reciprocal = nil
		}
		out += fmt.Sprintf("%s %+v\n", row.Name, q)
	}
	return out
}

// What comes after a look cannot change what it said.
func TestLookKnowsNothingOfWhatComesLater(t *testing.T) {
	t.Parallel()
	m := steadyHold()
	m.leak, m.limits = 0.2*barPerMin, limit(t, "decay_rate 0.5 bar/min")
	h := m.hold()
	h.Looks = &Looks{Plan: twelfths(300), Hold: 300}
	for i, at := range twelfths(300)[:4] {
		h.Looks.Taken = append(h.Looks.Taken, TakenLook{Number: i + 1, At: h.Start + at})
	}
	want := Assess(h)
	end := h.Looks.Taken[3].At
	later := h
	later.Trapped = later.upTo(TakenLook{At: h.End}).Trapped
	later.Trapped.Value = slices.Clone(later.Trapped.Value)
	later.Temperature.Value = slices.Clone(later.Temperature.Value)
	for i, at := range later.Trapped.Time {
		if at > end {
			later.Trapped.Value[i] = 3 * bar
		}
	}
	for i, at := range later.Temperature.Time {
		if at > end {
			later.Temperature.Value[i] = 350
		}
	}
	got := Assess(later)
	require.Equal(t, digits(want.Estimates), digits(got.Estimates), "to the last digit")
	require.Equal(t, *want.Early, *got.Early)
	require.Equal(t, want.Reasons, got.Reasons)
	require.Equal(t, end, want.End)
}

func TestLossThatSlowsIsNotFailedBeforeTheHoldsEnd(t *testing.T) {
	// Settling takes 2 bar with 60 s: over the hold 0.4 bar/min, at first much
	// more than the limit of 0.6 bar/min.
	m := steadyHold()
	m.leak, m.limits = 0, limit(t, "decay_rate 0.6 bar/min")
	m.add = func(s float64) float64 { return -2 * bar * (1 - math.Exp(-math.Max(s, 0)/60)) }
	a := atLooks(m.hold(), 300, twelfths(300)...)
	require.NotEqual(t, verdict.Fail, a.Verdict, a.Reasons)
	first := a.Early.Looks[0]
	require.Equal(t, verdict.Inconclusive, first.Verdict)

	m.add, m.leak = nil, 1.5*barPerMin
	require.Len(t, atLooks(m.hold(), 300, twelfths(300)...).Early.Looks, 1, "a steady loss as great is")
}

func TestQuantitiesOfTheWholeHoldWaitForItsEnd(t *testing.T) {
	m := steadyHold()
	m.leak, m.limits = 0.02*barPerMin, append(limit(t, "drop 3 bar"), limit(t, "decay_rate 0.5 bar/min")...)
	a := atLooks(m.hold(), 300, twelfths(300)...)
	require.Equal(t, verdict.Pass, a.Verdict)
	require.Len(t, a.Early.Looks, 12)
	require.Equal(t, verdict.Inconclusive, a.Early.Looks[10].Verdict)
	require.Equal(t, verdict.Pass, a.Early.Looks[10].Limits[1].Verdict)
	require.True(t, math.IsNaN(a.Early.Looks[10].Limits[0].Information))
}

func TestHoldGoesOnWhileTimeCanSettleIt(t *testing.T) {
	plan := []float64{75, 150, 225, 300, 450, 600, 750, 900}
	m := steadyHold()
	m.duration, m.noise, m.seed = 900, 0.5*bar, 4
	m.leak, m.limits = 0.48*barPerMin, limit(t, "decay_rate 0.5 bar/min")
	a := atLooks(m.hold(), 300, plan...)
	require.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
	require.True(t, a.Early.Extended, a.Early.Time)
	require.Contains(t, a.Early.Text, "the hold went on past its 5 min and was decided at look ")

	// The thermal coefficient alone leaves too much doubt: no time mends that.
	m = steadyHold()
	m.duration, m.ramp, m.prior = 900, 6*kPerHour, normal(5*bar, 2*bar, si.ThermalCoefficient)
	m.leak, m.limits = 0.45*barPerMin, limit(t, "decay_rate 0.5 bar/min")
	a = atLooks(m.hold(), 300, plan...)
	require.Equal(t, verdict.Inconclusive, a.Verdict)
	require.Equal(t, 300.0, a.Early.Time)
	require.False(t, a.Early.GoOn)
	require.Contains(t, a.Early.Why, "more time will not settle it: what does not become smaller with time, most of it "+decay.SourceThermalCoefficient)
	require.Contains(t, a.Reasons, a.Early.Why)
}

func TestInvalidHoldSpendsNothingAndDoesNotGoOn(t *testing.T) {
	t.Parallel()
	m := steadyHold()
	m.leak, m.limits = 0.02*barPerMin, limit(t, "decay_rate 0.5 bar/min")
	h := m.hold()
	for i := range h.Feed.Value {
		h.Feed.Value[i] = 50 * bar
	}
	a := atLooks(h, 150, 60, 150, 300)
	require.Equal(t, verdict.Inconclusive, a.Verdict)
	require.False(t, a.Valid)
	require.Len(t, a.Early.Looks, 2)
	for _, look := range a.Early.Looks {
		require.False(t, look.Judged)
		require.Contains(t, look.Why, "feed side is not vented")
	}
	require.False(t, a.Early.GoOn)
}

// A unit whose loss is exactly the limit passes, and fails, at most as often
// as stated, on benches whose thermal coefficients are as their
// characterisations say; and the intervals, read wherever the hold stopped,
// cover as often as they say.
func TestRisksAtTheLimitWithLooks(t *testing.T) {
	t.Parallel()
	const tests = 80
	for _, ramp := range []float64{0.2, 1.5} { // noise alone; half of the doubt systematic
		random := rand.New(rand.NewPCG(5, 5))
		passed, failed, covered := 0, 0, 0
		for i := range tests {
			m := steadyHold()
			m.seed, m.interval, m.tempInterval, m.ramp, m.noise = uint64(i), 2, 2, ramp*kPerHour, 0.02*bar
			m.b = 5*bar + 0.5*bar*random.NormFloat64()
			m.prior = normal(5*bar, 0.5*bar, si.ThermalCoefficient)
			m.leak, m.limits = 0.5*barPerMin, limit(t, "decay_rate 0.5 bar/min")
			a := atLooks(m.hold(), 300, 90, 160, 230, 300)
			switch a.Verdict {
			case verdict.Pass:
				passed++
			case verdict.Fail:
				failed++
			}
			if low, high := a.Estimates["decay_rate"].Interval(0.95); low <= m.leak && m.leak <= high {
				covered++
			}
		}
		t.Logf("ramp %g K/h: passed %d, failed %d, covered %d of %d", ramp, passed, failed, covered, tests)
		most := tests*0.05 + 3*math.Sqrt(tests*0.05*0.95)
		assert.Less(t, float64(passed), most)
		assert.Less(t, float64(failed), most)
		assert.Greater(t, float64(covered), tests*0.95-3*math.Sqrt(tests*0.05*0.95))
	}
}

func TestDecidedByLooks(t *testing.T) {
	t.Parallel()
	for _, name := range byLook {
		assert.True(t, DecidedByLooks(name), name)
	}
	for _, row := range verdict.Quantities {
		if !slices.Contains(byLook, row.Name) && row.Name != "thermal_coefficient" && row.Name != "stiffness" {
			assert.False(t, DecidedByLooks(row.Name), row.Name)
		}
	}
}
