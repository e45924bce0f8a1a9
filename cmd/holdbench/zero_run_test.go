//go:build linux || darwin

package main

import (
	"context"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
	"holdbench/daq/sequence"
	"holdbench/daq/simbench"
	"holdbench/report/result"
)

// testedWith tests the demonstration's good unit in lock-step, with more in
// its bench file and procedure, and returns the result as it was written.
func testedWith(t *testing.T, inBench, inProcedure string, overdue *record.Overdue, insist bool) result.Result {
	t.Helper()
	unit := simbench.CraneLot()[0]
	read := func(name string) string {
		text, err := fs.ReadFile(simbench.CraneFiles(), name)
		require.NoError(t, err)
		return string(text)
	}
	b, err := bench.Parse("bench.toml", []byte(read("bench.toml")+inBench))
	require.NoError(t, err)
	require.NoError(t, b.AttachCharacterisation("characterisation.toml", []byte(read("characterisation.toml"))))
	p, err := procedure.Parse("hold.toml", []byte(read("hold.toml")+inProcedure))
	require.NoError(t, err)
	clock := simbench.NewLockStep(simbench.CraneStart)
	rig, err := simbench.New(b, clock, 1)
	require.NoError(t, err)
	unit.Prepare(rig)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	served, err := rig.Serve(ctx, simbench.ServeOptions{})
	require.NoError(t, err)
	leave := clock.Join()
	scan, err := startScanning(ctx, b, clock, bench.WireOptions{Ports: served.Ports, Taken: clock.Taken})
	require.NoError(t, err)
	hand := &sequence.Script{OnPhase: unit.Hands(rig), Delay: simbench.CraneDelays, Insist: insist}
	if !insist { // nobody is there to prove that it is vented
		hand.Cues = []sequence.Cue{{Phase: procedure.Vented, After: 10 * time.Second, Answer: sequence.Answer{Kind: sequence.OverrideVented, Text: "never pumped up"}}}
	}
	test := &unitTest{
		bench: b, procedure: p, position: b.Positions[0], channels: scan.wiring.Channels, scanner: scan.scanner,
		clock: clock, joined: true, serial: unit.Serial, operator: "Ada", runID: "run-1", note: demoNote, overdue: overdue,
		folder: t.TempDir(), shown: styleOf(t, "bar,°C"), panel: hand,
		started: func(l *sequence.Loop) { hand.Answer = l.Answer },
	}
	folder, _, err := test.do(ctx)
	require.NoError(t, err)
	leave()
	require.NoError(t, scan.stop())
	require.NoError(t, served.Close())
	return readResult(t, filepath.Join(folder, "result.json"))
}

const zeroCheck = `
[zero_check]
tolerance = "0.5 bar"
`

func TestZerosOfARunAreInItsResult(t *testing.T) {
	r := testedWith(t, "", zeroCheck, nil, true)
	assert.Equal(t, "PASS", r.Verdict)
	assert.Equal(t, "vented", r.Vented.State)
	require.Len(t, r.ZeroChecks, 4)
	for i, want := range []struct{ channel, when string }{{"trapped_a", "before"}, {"feed", "before"}, {"trapped_a", "after"}, {"feed", "after"}} {
		z := r.ZeroChecks[i]
		assert.Equal(t, want.channel, z.Channel)
		assert.Equal(t, want.when, z.When)
		assert.True(t, z.Within)
		assert.InDelta(t, 0, *z.Mean, 1000)
		assert.InDelta(t, 100, z.Readings, 2)
	}
	assert.NotContains(t, strings.Join(r.Reasons, "\n"), "zero of")
}

// A transducer that is off by more than the tolerance stops the test before
// anything is pumped: no verdict, not completed.
func TestAWrongZeroStopsTheRun(t *testing.T) {
	r := testedWith(t, "\n[[simulated.transducer]]\nchannel = \"trapped_a\"\noffset = \"0.8 bar\"\n", zeroCheck, nil, false)
	assert.False(t, r.Completed)
	assert.Equal(t, exitNotCompleted, exitOf(&r))
	require.Len(t, r.ZeroChecks, 2)
	assert.False(t, r.ZeroChecks[0].Within)
	assert.InDelta(t, 0.8e5, *r.ZeroChecks[0].Mean, 1000)
	reasons := strings.Join(r.Reasons, "\n")
	assert.Contains(t, reasons, "the test was aborted in phase zero check")
	assert.Regexp(t, `zero of trapped_a before the test is outside its tolerance: it read 0\.[78]\d\d bar where 0 ± 0\.500 bar is wanted`, reasons)
}

// What an engineer overrides stands in the result, first of the reasons.
func TestAnOverdueCalibrationIsInTheResult(t *testing.T) {
	r := testedWith(t, "\n[[calibration]]\nchannel = \"room\"\ncertificate = \"T-9\"\ndate = 2025-01-01\ndue = 2026-01-01\nuncertainty = \"0.1 K\"\n", "",
		&record.Overdue{Reason: "certificate in the post", By: "Ada"}, true)
	assert.Equal(t, "PASS", r.Verdict)
	assert.Equal(t, &result.OverdueOverride{Reason: "certificate in the post", By: "Ada", Channels: []string{"room (due 2026-01-01)"}}, r.OverdueOverride)
	assert.Equal(t, "calibration overdue: room (due 2026-01-01); overridden by Ada: certificate in the post", r.Reasons[0])
}
