package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/record"
	"holdbench/daq/simbench"
	"holdbench/report/result"
)

const perMinute = 1e5 / 60

// lookedAt tests a unit of the demonstration's bench by its procedure with
// looks, and returns what its recording and the screen say.
func lookedAt(t *testing.T, change func(*simbench.Truth)) (folder, screen string, r result.Result) {
	t.Helper()
	unit := simbench.CraneLot()[0]
	unit.Procedure = "hold-early.toml"
	change(&unit.Truth)
	f := demoFlags{seed: 1}
	var out strings.Builder
	dir := t.TempDir()
	_, err := f.testUnit(context.Background(), &out, unit, 0, dir, "00000000-0000-8000-8000-000000000001", styleOf(t, "bar,°C"))
	require.NoError(t, err)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 1)
	folder = filepath.Join(dir, entries[0].Name())
	return folder, out.String(), readResult(t, filepath.Join(folder, "result.json"))
}

// reassessed: a later assessment of the recording says the same, bit for bit.
func reassessed(t *testing.T, folder string) {
	t.Helper()
	rec, err := record.Open(folder)
	require.NoError(t, err)
	again, _, _, err := result.Assess(rec, options(reassessment))
	require.NoError(t, err)
	path, err := result.Write(folder, again)
	require.NoError(t, err)
	assert.Equal(t, withoutAssessment(t, filepath.Join(folder, "result.json")), withoutAssessment(t, path))
}

// looksOf are the events of the looks.
func looksOf(t *testing.T, folder string) (out []daq.Event) {
	t.Helper()
	rec, err := record.Open(folder)
	require.NoError(t, err)
	for _, e := range rec.Events {
		if e.Kind == daq.Looked {
			out = append(out, e)
		}
	}
	return out
}

func TestTightUnitIsDecidedEarly(t *testing.T) {
	folder, screen, r := lookedAt(t, func(*simbench.Truth) {})
	early := r.Circuits[0].Tests[0].Early
	require.Equal(t, "PASS", r.Verdict)
	require.True(t, r.Completed)
	require.NotNil(t, early)
	assert.True(t, early.Stopped)
	assert.Less(t, early.Looks[len(early.Looks)-1].Time, 150.0)
	assert.Contains(t, screen, fmt.Sprintf("  Decided at look %d of 10, after ", len(early.Looks)))
	assert.Contains(t, screen, ": PASS.\n")
	for _, technical := range []string{"boundary", "information", "[decay_rate", "recording is open", "till settling"} {
		assert.NotContains(t, screen, technical)
	}
	assert.Contains(t, screen, "hold 0:00, looks until 5:00, may go on to 15:00  ")
	assert.Contains(t, screen, "note: decided early, at look ")
	rate := r.Circuits[0].Tests[0].Estimates["decay_rate"]
	assert.Greater(t, rate.Widened, 1.0)
	looks := looksOf(t, folder)
	require.Len(t, looks, len(early.Looks))
	last := looks[len(looks)-1]
	assert.Contains(t, last.Text, "decided: PASS: [decay_rate PASS, boundary ")
	window := r.Circuits[0].Tests[0].Window
	assert.Equal(t, last.At.Seconds(), *window[1], "judged by what was read up to the look")
	reassessed(t, folder)
}

func TestGrossLeakerIsFailedAtTheFirstLook(t *testing.T) {
	folder, _, r := lookedAt(t, func(tr *simbench.Truth) { tr.Circuit.Leak = 2 * perMinute })
	require.Equal(t, "FAIL", r.Verdict)
	require.Len(t, looksOf(t, folder), 1)
	reassessed(t, folder)
}

func TestHoldNearTheLimitGoesOnByItself(t *testing.T) {
	folder, screen, r := lookedAt(t, func(tr *simbench.Truth) { tr.Circuit.Leak = 0.5 * perMinute })
	early := r.Circuits[0].Tests[0].Early
	require.NotNil(t, early)
	require.True(t, early.Extended, early.Text)
	require.NotEqual(t, "INCONCLUSIVE", r.Verdict)
	assert.Contains(t, screen, "Look 6 of 10: goes on: ")
	assert.Contains(t, screen, "more time can settle it")
	assert.Contains(t, screen, "  Decided at look ")
	assert.NotContains(t, screen, "recording is open")
	assert.Contains(t, strings.Join(r.Reasons, "\n"), "the hold went on past its 5 min and was decided at look ")
	reassessed(t, folder)
}

func TestHoldThatTimeCannotSettleEndsInTime(t *testing.T) {
	folder, _, r := lookedAt(t, func(tr *simbench.Truth) { tr.Circuit.Leak = 0.515 * perMinute })
	early := r.Circuits[0].Tests[0].Early
	require.NotNil(t, early)
	require.Equal(t, "INCONCLUSIVE", r.Verdict, early.Text)
	looks := looksOf(t, folder)
	require.Less(t, len(looks), early.Planned, early.Text)
	require.False(t, early.Stopped, "its own five minutes are held")
	assert.Contains(t, looks[len(looks)-1].Text, "ends undecided: ")
	assert.Contains(t, strings.Join(r.Reasons, "\n"), "more time will not settle it")
	reassessed(t, folder)
}
