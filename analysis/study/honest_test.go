package study

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A judge that claims a fifth of its error is widened five times, covers 95 %
// then, and says INCONCLUSIVE more often.
func TestHonestJudgeIsWidened(t *testing.T) {
	j := saying(0.02)
	j.Honest = "honest"
	r := studyOf(t, j, known(0, 0.1), 400, 5, 0.9)
	require.Len(t, r.Judges, 2)
	require.Contains(t, r.Judges[1].Title, "widened × ")
	bare, wide := r.overall("saying"), r.overall("honest")
	assert.Less(t, bare.Decay.Coverage.Value, 0.5)
	assert.InDelta(t, 0.95, wide.Decay.Coverage.Value, 0.001)
	assert.InDelta(t, 5, bare.LimitOverU/wide.LimitOverU, 0.3)
	assert.Greater(t, wide.Inconclusive.Value, bare.Inconclusive.Value+0.3)
	assert.Equal(t, bare.Decay.RMS, wide.Decay.RMS)
}

func TestAimsSayWhereTheyAreNear(t *testing.T) {
	assert.Equal(t, "not tried", Result{}.tight(nil, "early").Outcome())
	assert.Equal(t, "not tried", Result{}.forbidden("any", true).Outcome())
	of := func(value, u float64) string {
		r := Result{Overall: []Row{{Judge: "j", All: Figures{Decay: RateFigures{Coverage: Figure{value, u}}}}}}
		return r.coverage("j", "decay rate").Outcome()
	}
	assert.Equal(t, "hit", of(0.94, 0.01))
	assert.Equal(t, "missed, within its standard error", of(0.925, 0.01))
	assert.Equal(t, "missed", of(0.915, 0.01))
	assert.Equal(t, "missed", of(0.985, 0.01))
}
