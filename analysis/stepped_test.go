package analysis

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/analysis/verdict"
)

// judgedBare judges a bare pressure record as a logger's file is judged.
func judgedBare(t *testing.T, m made, c series.Column) Assessment {
	f, reason := FindHold(c, series.Column{}, FindOptions{})
	require.Empty(t, reason)
	h := m.hold()
	h.Trapped, h.Start, h.End, h.Locked, h.Segments, h.Stepped = c, f.Start, f.End, f.Locked, f.Segments, f.Stepped
	h.FeedDeclaredUnmeasured = true
	return Assess(h)
}

// A step of the reading is turned away whichever way it goes, early and late,
// small and large.
func TestStepUpIsTurnedAwayAsAStepDown(t *testing.T) {
	m := good()
	m.before, m.duration, m.interval, m.noise, m.start = 0, 1800, 0.5, 0.01*bar, 100*bar
	m.b, m.prior, m.tempNoise = 0, nil, 0
	m.temp = func(float64) float64 { return 293.15 }
	for _, step := range []float64{-3 * bar, 3 * bar, 1 * bar, -1 * bar} {
		for _, at := range []float64{600, 900, 1200} {
			c := spoil(m.hold().Trapped, at, 1e9, func(_, v float64) float64 { return v + step })
			a := judgedBare(t, m, c)
			assert.False(t, a.Valid, "%g Pa at %g s: %v", step, at, a.Reasons)
			assert.Equal(t, verdict.Inconclusive, a.Verdict, "%g Pa at %g s", step, at)
		}
	}
	a := judgedBare(t, m, spoil(m.hold().Trapped, 900, 1e9, func(_, v float64) float64 { return v + 3*bar }))
	assert.Contains(t, strings.Join(a.Reasons, "\n"), "the pressure steps up by 3.0 bar at 900 s after it was held at the same level")
}

// What is pumped up soon after a short rest is an ordinary beginning.
func TestTopUpAfterAShortRestIsNoStep(t *testing.T) {
	m := good()
	m.before, m.duration, m.interval, m.noise, m.start = 0, 1800, 0.5, 0.01*bar, 100*bar
	c := spoil(m.hold().Trapped, 0, 200, func(_, v float64) float64 { return v - 3*bar })
	f, reason := FindHold(c, series.Column{}, FindOptions{})
	require.Empty(t, reason)
	assert.Greater(t, f.Start, 200.0)
	assert.Nil(t, f.Stepped)
}
