package main

import (
	"context"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/sequence"
	"holdbench/daq/simbench"
	"holdbench/report/result"
)

// testOnSensors tests the demonstration's good unit on a bench with a sensor of
// every kind; more does something besides with the hands in each phase.
func testOnSensors(t *testing.T, more func(*simbench.Rig, procedure.Phase)) *result.Result {
	text, err := os.ReadFile("testdata/sensors.toml")
	require.NoError(t, err)
	b, err := bench.Parse("sensors.toml", text)
	require.NoError(t, err)
	unit := simbench.CraneLot()[0]
	like, p, err := unit.Load()
	require.NoError(t, err)
	require.NoError(t, b.AttachCharacterisation(like.CharacterisationPath, []byte(like.CharacterisationText)))

	clock := simbench.NewLockStep(simbench.CraneStart)
	rig, err := simbench.New(b, clock, 1)
	require.NoError(t, err)
	unit.Prepare(rig)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	served, err := rig.Serve(ctx, simbench.ServeOptions{TCP: true})
	require.NoError(t, err)
	leave := clock.Join()
	scan, err := startScanning(ctx, b, clock, bench.WireOptions{Ports: served.Ports, Taken: clock.Taken})
	require.NoError(t, err)
	hands := unit.Hands(rig)
	for phase, hand := range unit.Hands(rig) {
		hands[phase] = func() {
			hand()
			more(rig, phase)
		}
	}
	script := &sequence.Script{Delay: simbench.CraneDelays, Insist: true, OnPhase: hands}
	test := &unitTest{
		bench: b, procedure: p, position: b.Positions[0], channels: scan.wiring.Channels, scanner: scan.scanner,
		clock: clock, joined: true, serial: unit.Serial, operator: "script", runID: "r", folder: t.TempDir(), shown: style{Display: si.DefaultDisplay}, panel: script,
		started: func(l *sequence.Loop) { script.Answer = l.Answer },
	}
	_, j, err := test.do(ctx)
	leave()
	require.NoError(t, err)
	require.NoError(t, scan.stop())
	require.NoError(t, served.Close())
	return j.result
}

// A test on sensors of every kind ends like one on the demonstration's own
// bench, and each sensor has its line in the budget.
func TestAUnitIsTestedWithSensorsOfEveryKind(t *testing.T) {
	t.Parallel()
	r := testOnSensors(t, func(*simbench.Rig, procedure.Phase) {})
	assert.Equal(t, "PASS", r.Verdict, "%v", r.Reasons)
	assert.Empty(t, r.Recording.Troubles)
	sources := map[string]string{}
	for _, line := range r.Circuits[0].Tests[0].Estimates["decay_rate"].Budget {
		sources[line.Source] = line.Note
	}
	assert.Contains(t, sources[decay.SourceToleranceClass], "IEC 60584-1 class 1 of thermocouple K")
	assert.Contains(t, sources[decay.SourceColdJunction], "terminals")
	roles := map[string]string{}
	for _, i := range r.Instruments {
		roles[i.Channel] = i.Role
	}
	assert.Equal(t, "cold junction", roles["terminals"])
	assert.Equal(t, "excitation", roles["supply"])
}

// A thermocouple's wire that breaks in the hold costs its readings, and the
// result says so.
func TestABrokenWireInTheHoldIsSaid(t *testing.T) {
	t.Parallel()
	r := testOnSensors(t, func(rig *simbench.Rig, phase procedure.Phase) {
		switch phase {
		case procedure.Hold:
			require.NoError(t, rig.Break("body", "wire"))
		case procedure.Release:
			require.NoError(t, rig.Mend("body"))
		}
	})
	assert.NotEqual(t, "PASS", r.Verdict)
	require.NotEmpty(t, r.Recording.Troubles)
	assert.Contains(t, strings.Join(r.Recording.Troubles, "\n"), "channel body: broken wire for ")
	assert.Contains(t, strings.Join(r.Reasons, "\n"), "in the hold of circuit a: body: broken wire for ")
}
