package sequence

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// begins is a phase event as the machine writes it.
func begins(circuit string, ph procedure.Phase, s float64) daq.Event {
	at := time.Duration(s * float64(time.Second))
	return daq.Event{At: at, Until: at, Kind: daq.PhaseBegins, Circuit: circuit, Subject: string(ph)}
}

// upToHold is lock at 30, vent feed at 40, hold at 70.
func upToHold(circuit string) []daq.Event {
	return []daq.Event{begins(circuit, procedure.Fill, 0), begins(circuit, procedure.Pressurise, 10), begins(circuit, procedure.Lock, 30),
		begins(circuit, procedure.VentFeed, 40), begins(circuit, procedure.Stabilise, 50), begins(circuit, procedure.Hold, 70)}
}

func TestWindows(t *testing.T) {
	none := math.NaN()
	abort := daq.Event{At: 100 * time.Second, Kind: daq.Abort, Subject: "operator", Text: "hose burst"}
	for name, c := range map[string]struct {
		events []daq.Event
		want   Window
	}{
		"completed": {append(upToHold("a"), begins("a", procedure.Release, 370)),
			Window{LockBegan: 30, Locked: 40, HoldStart: 70, HoldEnd: 370, Completed: true}},
		"cut short in the hold": {upToHold("a"),
			Window{LockBegan: 30, Locked: 40, HoldStart: 70, HoldEnd: none}},
		"cut short while locking": {upToHold("a")[:3],
			Window{LockBegan: 30, Locked: none, HoldStart: none, HoldEnd: none}},
		"aborted in the hold": {append(upToHold("a"), abort, begins("a", procedure.Release, 100)),
			Window{LockBegan: 30, Locked: 40, HoldStart: 70, HoldEnd: 100, Aborted: true, Cause: "operator: hose burst"}},
		"aborted, and cut short before release": {append(upToHold("a"), abort),
			Window{LockBegan: 30, Locked: 40, HoldStart: 70, HoldEnd: none, Aborted: true, Cause: "operator: hose burst"}},
		"aborted while locking: never certainly locked": {append(upToHold("a")[:3], abort, begins("a", procedure.Release, 100)),
			Window{LockBegan: 30, Locked: none, HoldStart: none, HoldEnd: none, Aborted: true, Cause: "operator: hose burst"}},
		"an abort of another circuit": {append(upToHold("a"), daq.Event{Kind: daq.Abort, Circuit: "b"}, begins("a", procedure.Release, 370)),
			Window{LockBegan: 30, Locked: 40, HoldStart: 70, HoldEnd: 370, Completed: true}},
		"an abort once released": {append(upToHold("a"), begins("a", procedure.Release, 370), abort),
			Window{LockBegan: 30, Locked: 40, HoldStart: 70, HoldEnd: 370, Completed: true}},
		"a note that speaks of an abort": {append(upToHold("a"), begins("a", procedure.Release, 370), daq.Event{Kind: daq.Note, Subject: "abort"}),
			Window{LockBegan: 30, Locked: 40, HoldStart: 70, HoldEnd: 370, Completed: true}},
		"hold followed by something else than release": {append(upToHold("a"), begins("a", procedure.Vented, 370)),
			Window{LockBegan: 30, Locked: 40, HoldStart: 70, HoldEnd: 370}},
	} {
		t.Run(name, func(t *testing.T) {
			windows := Windows(c.events)
			require.Len(t, windows, 1)
			requireWindow(t, c.want, windows["a"])
		})
	}
	require.Empty(t, Windows(nil))
}

// requireWindow compares NaN as equal.
func requireWindow(t *testing.T, want, got Window) {
	t.Helper()
	require.InDelta(t, want.LockBegan, got.LockBegan, 1e-9)
	require.InDelta(t, want.Locked, got.Locked, 1e-9)
	require.InDelta(t, want.HoldStart, got.HoldStart, 1e-9)
	require.InDelta(t, want.HoldEnd, got.HoldEnd, 1e-9)
	require.Equal(t, want.Completed, got.Completed)
	require.Equal(t, want.Aborted, got.Aborted)
	require.Equal(t, want.Cause, got.Cause)
}

func TestWindowsKeepCircuitsApart(t *testing.T) {
	events := append(upToHold("a"), upToHold("b")[:3]...)
	events = append(events, begins("", procedure.Release, 200))
	windows := Windows(events)
	require.Len(t, windows, 2)
	require.Equal(t, 200.0, windows["a"].HoldEnd)
	require.True(t, math.IsNaN(windows["b"].HoldEnd))
	require.False(t, OutcomeOf(events).Completed, "not every circuit was held")
}

func TestWindowsOfEveryTruncationNeverClaimMoreThanTheWhole(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Release).at(0).say(GoOn).pass(6 * time.Second).say(ConfirmVented)
	released := 0
	for i, e := range r.events {
		if e.Kind == daq.PhaseBegins && e.Subject == string(procedure.Release) {
			released = i + 1
		}
	}
	for n := range r.events {
		out := OutcomeOf(r.events[:n])
		require.Equal(t, TreatAsPressurised, out.Vented)
		require.Equal(t, n >= released, out.Completed, "after %d of %d events", n, len(r.events))
	}
	require.Equal(t, Vented, OutcomeOf(r.events).Vented)
}
