//go:build linux || darwin

package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/record"
)

// A challenge over real ports: recording, result and screen say that it is
// about the bench, and that the unit has no verdict.
func TestRunWithAKnownLeakJudgesTheBench(t *testing.T) {
	t.Parallel()
	s := startRunOver(t, true, "4 s", direct, "--known-leak", "0.20 ± 0.01 bar/min", "--own-leak", "0 ± 0.01 bar/min", "--challenge-code", "K7")
	s.pressuriseAndLock()
	s.ventAndConfirm()
	code := s.exit()
	r := readResult(t, filepath.Join(s.recording(), "result.json"))
	require.NotNil(t, r.Challenge)
	assert.Equal(t, "INCONCLUSIVE", r.Verdict)
	assert.Equal(t, "K7", r.Challenge.Code)
	assert.Equal(t, "decay_rate", r.Challenge.Quantity)
	assert.Equal(t, exitOf(&r), code)
	s.await("CHALLENGE ")
	s.await("The unit is not judged: a leak was imposed on it.")

	rec, err := record.Open(s.recording())
	require.NoError(t, err)
	require.NotNil(t, rec.Meta.Challenge)
	assert.Equal(t, si.PressureRate, rec.Meta.Challenge.Known.Quantity)
	assert.InDelta(t, 0.2e5/60, rec.Meta.Challenge.Known.Value, 1e-9)
	noted := false
	for _, e := range rec.Events {
		noted = noted || e.Kind == daq.Note && e.Subject == "challenge"
	}
	assert.True(t, noted, "the imposed leak stands among the events")
}
