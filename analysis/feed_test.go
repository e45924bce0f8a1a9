package analysis

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// pumped is a tight unit that was vented for 20 s, pumped up in 10 s, locked at
// 40 s and held from 100 s on; its feed side shows what a function says.
func pumped(feed func(t float64) float64) Hold {
	h := made{seed: 5, before: 100, duration: 600, interval: 0.1, start: 100 * bar, noise: 0.01 * bar, tempNoise: 0.002,
		limits: []verdict.Limit{{Quantity: "decay_rate", Value: 0.2 * barPerMin, RiskPass: 0.05, RiskFail: 0.05}}, prior: normal(5*bar, 0.5*bar, si.ThermalCoefficient)}.hold()
	h.Locked = 40
	for i, t := range h.Trapped.Time {
		h.Trapped.Value[i] *= min(max(t-20, 0)/10, 1)
	}
	h.Feed = column("feed_a", si.Pressure, 1, h.End, feed)
	return h
}

// alive follows the pressure and is vented at 60 s.
func alive(t float64) float64 {
	if t > 60 {
		return 0
	}
	return 100 * bar * min(max(t-20, 0)/10, 1)
}

// A feed transducer that is dead shows every feed side vented: with the feed
// still under pressure a leaking unit would pass.
func TestFeedThatDidNotFollowThePressureIsNotShownVented(t *testing.T) {
	a := Assess(pumped(alive))
	require.True(t, a.Valid, a.Reasons)
	require.Equal(t, verdict.Pass, a.Verdict, a.Reasons)
	assert.Empty(t, a.Reasons)

	for name, c := range map[string]struct {
		feed func(t float64) float64
		says string
	}{
		"dead at zero": {func(float64) float64 { return 0 }, "pressed up to 100.0"},
		"one spike": {func(t float64) float64 {
			if t == 35 {
				return 100 * bar
			}
			return 0.01 * bar
		}, "and it reached 0.01 bar"},
		"another pressure altogether": {func(t float64) float64 { return alive(t) / 25 }, "and it reached 4.00 bar"},
		"without a reading until the hold": {func(t float64) float64 {
			if t <= 100 {
				return math.NaN()
			}
			return 0
		}, "and it has no valid reading then"},
	} {
		t.Run(name, func(t *testing.T) {
			a := Assess(pumped(c.feed))
			assert.False(t, a.Valid)
			assert.Equal(t, verdict.Inconclusive, a.Verdict)
			require.NotEmpty(t, a.Reasons)
			assert.True(t, strings.HasPrefix(a.Reasons[0], "the feed side is not shown vented: its transducer did not follow the pressure: the trapped side was pressed up to 100"), a.Reasons)
			assert.Contains(t, a.Reasons[0], c.says)
			assert.NotEmpty(t, a.Advice)
		})
	}
}

// What the recording does not show is not checked, and said.
func TestFeedIsNotAskedWhereThePressUpIsNotRecorded(t *testing.T) {
	dead := func(float64) float64 { return 0 }
	for name, c := range map[string]struct {
		spoil func(h *Hold)
		says  string
	}{
		"it begins under pressure": {func(h *Hold) { h.Trapped = h.Trapped.Window(35, h.End) }, noPressUp},
		"the feed is read too rarely": {func(h *Hold) { h.Feed = everyNth(h.Feed, 60) },
			"whether the feed side's transducer followed the pressure was not checked: too few of its readings between the press-up and the hold"},
		"declared unmeasured": {func(h *Hold) { h.FeedDeclaredUnmeasured = true }, "feed side not checked: declared unmeasured"},
		"no threshold":        {func(h *Hold) { h.FeedBelow = math.NaN() }, "feed side not checked: no threshold stated"},
	} {
		t.Run(name, func(t *testing.T) {
			h := pumped(dead)
			c.spoil(&h)
			a := Assess(h)
			assert.True(t, a.Valid, a.Reasons)
			assert.Equal(t, verdict.Pass, a.Verdict)
			assert.Equal(t, []string{c.says}, slices.DeleteFunc(a.Reasons, func(s string) bool { return !strings.Contains(s, "feed") }))
		})
	}
}

func everyNth(c series.Column, n int) series.Column {
	out := series.Column{Name: c.Name, Quantity: c.Quantity}
	for i := 0; i < c.Len(); i += n {
		out.Time, out.Value = append(out.Time, c.Time[i]), append(out.Value, c.Value[i])
	}
	return out
}

func TestPressUp(t *testing.T) {
	for name, c := range map[string]struct {
		values []float64
		from   float64
		ok     bool
	}{
		"up once":              {[]float64{0, 0, 1, 60, 99, 100, 100}, 3, true},
		"up, down and up":      {[]float64{0, 0, 90, 90, 90, 0, 0, 0, 100, 100, 100}, 8, true},
		"from half to all":     {[]float64{40, 40, 40, 100, 100, 100}, 0, false},
		"down only":            {[]float64{100, 100, 100, 0, 0, 0}, 0, false},
		"a spike is no rise":   {[]float64{0, 0, 0, 100, 0, 0, 0}, 0, false},
		"a zero that wanders":  {[]float64{-1, -1, -1, -1, -1}, 0, false},
		"few readings, no say": {[]float64{0, 100}, 0, false},
	} {
		col := series.Column{Quantity: si.Pressure, Value: c.values}
		for i := range c.values {
			col.Time = append(col.Time, float64(i))
		}
		from, _, ok := pressUp(col)
		assert.Equal(t, c.ok, ok, name)
		if c.ok {
			assert.Equal(t, c.from, from, name)
		}
	}
}
