//go:build linux || darwin

package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/sequence"
	"holdbench/report/result"
)

// live is a run of the demonstration's procedure with looks as a process of
// its own on the wall clock: times and limit of the procedure, and the noise of
// a pressure reading, Pa.
type live struct {
	hold, longest, looks, limit string
	noise                       float64
}

// run runs it until vented; a later assessment says the same.
func (l live) run(t *testing.T) (s *bystander, r result.Result) {
	t.Helper()
	s = newBystander(t)
	s.rewrite("hold-early.toml",
		`duration = "60 s"`, `duration = "1 s"`,
		`duration = "5 min"`, `duration = "`+l.hold+`"`,
		`extend_to = "15 min"`, l.longest,
		`looks = ["40 s", "75 s", "2 min", "3 min", "4 min", "5 min", "7 min", "10 min", "12.5 min", "15 min"]`, `looks = [`+l.looks+`]`,
		`max = "0.5 bar/min"`, l.limit)
	s.start(true, "hold-early.toml", direct)
	s.truth.Sensors.Pressure = l.noise
	s.rig.Mount(s.truth)
	s.pressuriseAndLock()
	s.ventAndConfirm()
	code := s.exit()
	r = readResult(t, filepath.Join(s.recording(), "result.json"))
	assert.Equal(t, exitOf(&r), code)
	assert.True(t, r.Completed)
	assert.Equal(t, sequence.Vented, r.Vented.State)
	require.NotNil(t, r.Circuits[0].Tests[0].Early)
	reassessed(t, s.recording())
	return s, r
}

// heldFor is for how long the hold went on by its events, s.
func heldFor(t *testing.T, folder string, r result.Result) float64 {
	t.Helper()
	window := r.Circuits[0].Tests[0].Window
	looks := looksOf(t, folder)
	require.Len(t, looks, len(r.Circuits[0].Tests[0].Early.Looks))
	assert.Equal(t, looks[len(looks)-1].At.Seconds(), *window[1], "judged by what was read up to the last look")
	return *window[1] - *window[0]
}

// On the wall clock and over real ports a tight unit is decided before the
// hold's end.
func TestRunIsDecidedEarlyOnTheWallClock(t *testing.T) {
	t.Parallel()
	s, r := live{
		hold: "30 s", looks: `"6 s", "9 s", "12 s", "30 s"`, limit: `max = "60 bar/min"`, noise: 1000,
	}.run(t)
	assert.Equal(t, "PASS", r.Verdict, r.Reasons)
	early := r.Circuits[0].Tests[0].Early
	assert.True(t, early.Stopped, early.Text)
	assert.Less(t, heldFor(t, s.recording(), r), 20.0)
	s.await("Decided at look ")
	s.await(": PASS.")
}

// A hold that its own length does not decide goes on: two seconds of readings
// as noisy as these leave an expanded uncertainty of some 2 bar/min, nine
// leave a quarter of it. What may decide depends on nothing else here.
func TestRunGoesOnPastTheHoldOnTheWallClock(t *testing.T) {
	t.Parallel()
	s, r := live{
		hold: "2 s", longest: `extend_to = "20 s"`, looks: `"2 s", "6 s", "9 s", "13 s", "20 s"`, noise: 4000,
		limit: `max = "60 bar/min"` + "\nrule = \"simple\"\nu_max = \"0.8 bar/min\"",
	}.run(t)
	assert.Equal(t, "PASS", r.Verdict, r.Reasons)
	early := r.Circuits[0].Tests[0].Early
	assert.True(t, early.Extended, early.Text)
	assert.Equal(t, "INCONCLUSIVE", early.Looks[0].Verdict)
	assert.Greater(t, heldFor(t, s.recording(), r), 5.0)
	s.await("Look 1 of 5: goes on: ")
	s.await("goes on, to 0:20 at most")
}
