package analysis

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/verdict"
)

// leaker was locked at 100 bar at 50 s; the hold begins at 100 s.
func leaker(lost float64) made {
	m := good()
	m.start = 100*bar - lost
	m.add = func(t float64) float64 {
		if t >= 0 {
			return 0
		}
		return lost * math.Min(1, -t/50)
	}
	return m
}

func TestGrossLeakerFailsThoughTheHoldMayNotBeJudged(t *testing.T) {
	a := Assess(leaker(40 * bar).hold())
	assert.Equal(t, verdict.Fail, a.Verdict)
	assert.False(t, a.Valid)
	require.GreaterOrEqual(t, len(a.Reasons), 3)
	assert.Equal(t, ReasonLostBefore, a.Reasons[0])
	assert.Regexp(t, `^\d+\.\d\d bar at lock, 60\.\d\d bar when the hold began; temperature explains at most \d+\.\d\d bar$`, a.Reasons[1])
	assert.Contains(t, a.Reasons[2], "start pressure")
	assert.Equal(t, verdict.Fail, a.Decisions[0].Verdict)
	assert.Equal(t, ReasonLostBefore, a.Decisions[0].Reason)
}

func TestLossBeforeTheHoldThatTemperatureMayExplainIsNoFail(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		made made
		hold func(h *Hold)
	}{
		"no more than a pumped-up liquid cools": {made: leaker(7 * bar)},
		"the bench cooled": {made: func() made {
			m := leaker(12 * bar)
			m.temp = func(t float64) float64 { return 293 - 3*(1-math.Exp(-math.Max(t+50, 0)/20)) }
			return m
		}()},
		"locked too low":                  {made: leaker(40 * bar), hold: func(h *Hold) { h.StartLow, h.StartHigh = 105*bar, 110*bar }},
		"no limit on a loss":              {made: leaker(40 * bar), hold: func(h *Hold) { h.Limits = []verdict.Limit{{Quantity: "stiffness", Value: 1}} }},
		"not known when it was locked":    {made: leaker(40 * bar), hold: func(h *Hold) { h.Locked = math.NaN() }},
		"no thermometer":                  {made: leaker(40 * bar), hold: func(h *Hold) { h.Temperature = series.Column{} }},
		"no start window":                 {made: leaker(40 * bar), hold: func(h *Hold) { h.StartLow, h.StartHigh, h.FeedBelow = math.NaN(), math.NaN(), -1*bar }},
		"unknown coefficient, wide bound": {made: leaker(15 * bar), hold: func(h *Hold) { h.Characterised.ThermalCoefficient = nil }},
	} {
		t.Run(name, func(t *testing.T) {
			h := c.made.hold()
			if c.hold != nil {
				c.hold(&h)
			}
			a := Assess(h)
			assert.False(t, a.Valid)
			assert.Equal(t, verdict.Inconclusive, a.Verdict)
			assert.NotContains(t, strings.Join(a.Reasons, "\n"), ReasonLostBefore)
		})
	}
}
