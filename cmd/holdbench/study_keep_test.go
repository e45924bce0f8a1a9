package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/study"
)

// What an interrupted study did is not done again, and another study's benches
// are not taken for its own.
func TestStudyGoesOnWithItsBenches(t *testing.T) {
	f := studyFlags{out: t.TempDir(), tests: 2}
	require.NoError(t, f.ready())
	k, err := f.keeper()
	require.NoError(t, err)
	tried := 0
	try := func() [][]study.Tally {
		tried++
		return [][]study.Tally{{{Tests: 7, Kept: []study.Kept{{Value: 0.1}}}}}
	}
	want, err := k.bench(3, try)
	require.NoError(t, err)
	f.resume = true
	again, err := f.keeper()
	require.NoError(t, err)
	got, err := again.bench(3, try)
	require.NoError(t, err)
	assert.Equal(t, want, got)
	assert.Equal(t, 1, tried)

	f.tests = 3
	other, err := f.keeper()
	require.NoError(t, err)
	_, err = other.bench(3, try)
	assert.ErrorContains(t, err, "bench of another study")

	f.resume = false
	fresh, err := f.keeper()
	require.NoError(t, err)
	_, err = fresh.bench(3, try)
	require.NoError(t, err)
	assert.Equal(t, 2, tried)
}

func TestEverySceneIsExplained(t *testing.T) {
	for _, name := range sceneNames() {
		assert.NotEmpty(t, sceneStories[name], name)
	}
	assert.Len(t, sceneStories, len(sceneNames()))
}
