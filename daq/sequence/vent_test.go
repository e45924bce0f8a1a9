package sequence

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// released is a run whose hold is over and whose release begins.
func released(t *testing.T, circuits ...Circuit) *rig {
	var tested []string
	for _, c := range circuits {
		if c.Tested {
			tested = append(tested, c.Name)
		}
	}
	return newRig(t, holdTest(tested...), circuits...).to(procedure.Release)
}

func TestVentedNeedsFiveSecondsAndConfirmation(t *testing.T) {
	r := released(t, watched("a", 0)).say(GoOn).in(procedure.Vented)
	r.values[0][Trapped] = 1 * bar
	r.pass(4 * time.Second).say(ConfirmVented).runs() // 5.0 s less one scan
	require.Contains(t, r.message(), "Treat as pressurised: circuit a: below 2.0 bar for 4.9 s of 5 s")
	r.pass(time.Hour).runs()
	r.say(ConfirmVented, "tap open").ends(Outcome{Completed: true, Vented: Vented, Reason: shownVented + "; tap open"})
}

func TestPressureThatRisesAgainStartsTheFiveSecondsAnew(t *testing.T) {
	r := released(t, watched("a", 0)).at(1).pass(10 * time.Second).say(GoOn).in(procedure.Vented)
	require.Equal(t, VentShown, r.last().Kind)
	r.values[0][Trapped] = 2 * bar // not below
	r.pass(100 * time.Millisecond)
	require.Equal(t, VentNotShown, r.last().Kind)
	require.Contains(t, r.last().Text, "No longer measured as vented. Treat as pressurised: circuit a: not below 2.0 bar.")
	r.values[0][Trapped] = 1 * bar
	r.pass(4 * time.Second).say(ConfirmVented).runs()
	r.say(ConfirmVented).ends(Outcome{Completed: true, Vented: Vented, Reason: shownVented})
}

func TestTransducerThatNeverMovedProvesNothing(t *testing.T) {
	for name, level := range map[string]float64{"flat at zero": 0, "only a little": 49} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, holdTest("a"), watched("a", 0)).say(GoOn).at(level)
			for r.m.phase() != procedure.Release {
				r.say(GoOn)
				if r.m.phase() == procedure.Stabilise {
					r.pass(90 * time.Second)
				}
			}
			r.at(0).say(GoOn).pass(time.Minute).say(ConfirmVented).runs()
			require.Contains(t, r.message(), "never showed 50.0 bar or more in this test")
			r.say(OverrideVented).runs()
			require.Contains(t, r.message(), "needs a reason")
			r.say(OverrideVented, "gauge on the block reads zero")
			require.Equal(t, Overridden, r.closed.Vented)
			require.Equal(t, *r.closed, OutcomeOf(r.events))
		})
	}
}

func TestOneSpikeProvesNothing(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Pressurise)
	r.values[0][Trapped] = 100 * bar
	r.pass(900 * time.Millisecond)
	r.at(0).say(AbortTest, "x").say(GoOn).pass(10 * time.Second).say(ConfirmVented).runs()
}

func TestUnhealthyOrOldReadingsDoNotShowVented(t *testing.T) {
	for name, spoil := range map[string]func(*rig){
		"unhealthy":        func(r *rig) { r.values[0][Trapped] = math.NaN() },
		"silent":           func(r *rig) { r.silent = true },
		"far below zero":   func(r *rig) { r.values[0][Trapped] = -3 * bar },
		"still pressure":   func(r *rig) { r.values[0][Trapped] = 3 * bar },
		"exactly at safe":  func(r *rig) { r.values[0][Trapped] = 2 * bar },
		"healthy infinity": func(r *rig) { r.values[0][Trapped] = math.Inf(-1) },
	} {
		t.Run(name, func(t *testing.T) {
			r := released(t, watched("a", 0)).at(1).pass(10 * time.Second).say(GoOn)
			spoil(r)
			r.pass(3 * time.Second).say(ConfirmVented).runs()
			require.False(t, r.m.Status().Vent.Measured)
			r.say(OverrideVented, "seen")
			require.Equal(t, Overridden, r.closed.Vented)
			require.Contains(t, r.closed.Reason, "seen; not shown: circuit a: ")
		})
	}
}

func TestCircuitWithoutTransducerIsAlwaysNamed(t *testing.T) {
	const mind = "circuit b has no transducer: treat it as pressurised until you have seen otherwise"
	r := released(t, watched("a", 0), Circuit{Name: "b", Tested: true})
	require.Equal(t, []string{mind}, r.m.Status().Vent.Cautions)
	require.Contains(t, r.prompts[0].Text, "circuits a and b")
	r.at(0).say(GoOn).pass(6 * time.Second)
	require.Contains(t, r.last().Text, mind)
	r.say(ConfirmVented).ends(Outcome{Completed: true, Vented: Vented, Reason: shownVented + "; " + mind})

	t.Run("no transducer at all", func(t *testing.T) {
		r := released(t, Circuit{Name: "b", Tested: true}).say(GoOn).pass(time.Minute).say(ConfirmVented).runs()
		require.Contains(t, r.message(), "vented cannot be measured")
		r.say(OverrideVented, "union opened")
		require.Equal(t, Overridden, r.closed.Vented)
		require.Contains(t, r.closed.Reason, mind)
	})
}

func TestCircuitOutsideTheTestMustBeLowAndIsNamed(t *testing.T) {
	b := watched("b", 3)
	b.Tested = false
	r := newRig(t, holdTest("a"), watched("a", 0), b)
	// Only a is under test; b stays at 30 bar from somewhere else.
	r.say(GoOn)
	r.values[0][Trapped], r.values[1][Trapped] = 100*bar, 30*bar
	r.feed(100).pass(1100 * time.Millisecond).feed(0).say(GoOn).say(GoOn).say(GoOn).pass(90 * time.Second).in(procedure.Release)
	r.values[0][Trapped] = 0
	r.say(GoOn).pass(time.Minute).say(ConfirmVented).runs()
	require.Contains(t, r.message(), "circuit b: not below 2.0 bar")
	r.values[1][Trapped] = 0
	r.pass(6 * time.Second).say(ConfirmVented)
	r.ends(Outcome{Completed: true, Vented: Vented, Reason: shownVented + "; circuit b is not part of this test: its transducer did not prove itself"})
}

func TestVentedIsNotTakenWhileTheTestRuns(t *testing.T) {
	for _, kind := range []AnswerKind{ConfirmVented, OverrideVented} {
		r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Hold).say(kind, "no more time").in(procedure.Hold).runs()
		require.Contains(t, r.message(), "abort <reason>")
	}
}

func TestConfirmationDuringReleaseEndsTheRelease(t *testing.T) {
	r := released(t, watched("a", 0)).at(0).say(ConfirmVented).in(procedure.Vented).runs()
	r.pass(5 * time.Second).say(ConfirmVented).ends(Outcome{Completed: true, Vented: Vented, Reason: shownVented})
}

func TestVentWatchRemindsEachMinute(t *testing.T) {
	r := released(t, watched("a", 0)).say(GoOn).in(procedure.Vented).pass(3*time.Minute + 5*time.Second)
	require.Equal(t, 3, r.count(Reminder))
	r.say(GoOn).runs() // Enter alone confirms nothing
}

func TestProofLevel(t *testing.T) {
	for _, c := range []struct{ test, safe, want float64 }{
		{100, 2, 50},  // half the test pressure
		{100, 15, 75}, // five times safe
		{100, 30, 90}, // but it must be reached
		{20, 15, 30},  // and be well above safe: such a test proves nothing
	} {
		require.InDelta(t, c.want, proofLevel(&procedure.Procedure{TestPressure: c.test, SafePressure: c.safe}), 1e-9)
	}
	require.True(t, math.IsNaN(proofLevel(&procedure.Procedure{TestPressure: math.NaN(), SafePressure: 2})), "nothing is ever above it")
}

// TestVentedIsNeverSaidWithoutProof feeds random inputs and, whenever a run
// ends as vented, looks for the proof in what was fed, by other means than
// the machine's.
func TestVentedIsNeverSaidWithoutProof(t *testing.T) {
	ended := map[string]int{}
	orders := func(rt *rapid.T) {
		var fed []fedReading
		p := holdTest("a")
		p.Steps[4].Duration, p.Steps[5].Duration = time.Second, 3*time.Second
		m := NewMachine(p, Roles{Circuits: []Circuit{watched("a", 0)}})
		now := time.Duration(0)
		m.Step(Input{})
		for block := range rapid.IntRange(1, 40).Draw(rt, "blocks") {
			level := rapid.SampledFrom([]float64{100, 100, 60, 49, 2, 1.9, 0, 0, 0, -2, math.NaN()}).Draw(rt, "level") * bar
			gap := rapid.SampledFrom([]time.Duration{100 * time.Millisecond, 100 * time.Millisecond, 500 * time.Millisecond, 1900 * time.Millisecond, 2100 * time.Millisecond}).Draw(rt, "gap")
			for range rapid.IntRange(0, 60).Draw(rt, "scans") {
				now += gap
				r := Reading{Part: Trapped, Value: level}
				if math.IsNaN(level) {
					r.Health = daq.UnderRange
				}
				m.Step(Input{At: now, Readings: []Reading{r, {Part: Feed}, {Part: Temperature, Value: 293}}})
				fed = append(fed, fedReading{now, level})
			}
			now += rapid.SampledFrom([]time.Duration{0, time.Second, 3 * time.Second}).Draw(rt, "pause")
			kind := rapid.SampledFrom([]AnswerKind{GoOn, GoOn, GoOn, ConfirmVented, ConfirmVented, AbortTest}).Draw(rt, "answer")
			if block > 0 && rapid.IntRange(0, 30).Draw(rt, "override") == 0 {
				kind = OverrideVented
			}
			for _, a := range m.Step(Input{At: now, Answer: &Answer{Kind: kind, Text: "why"}}) {
				c, ok := a.(Close)
				if !ok {
					continue
				}
				ended[c.Outcome.Vented]++
				if c.Outcome.Vented == Vented {
					require.Equal(rt, ConfirmVented, kind, "without the operator's confirmation")
					require.True(rt, provedVented(fed, now), "without measurement")
				} else {
					require.Equal(rt, Overridden, c.Outcome.Vented)
					require.Equal(rt, OverrideVented, kind)
				}
				return
			}
		}
		ended["open"]++
	}
	// few random orders get as far as vented: go on until some have
	for range 20 {
		if rapid.Check(t, orders); ended[Vented] > 0 {
			break
		}
	}
	require.NotZero(t, ended[Vented], "the test must reach what it checks; ended: %v", ended)
}

type fedReading struct {
	at    time.Duration
	value float64
}

// provedVented looks back from the confirmation: a fresh reading, five seconds
// of readings below 2 bar without a gap, and somewhere before them a second
// of readings at 50 bar or more.
func provedVented(fed []fedReading, now time.Duration) bool {
	i := len(fed) - 1
	if i < 0 || now-fed[i].at > 2*time.Second {
		return false
	}
	last := fed[i].at
	for i >= 0 && math.Abs(fed[i].value) < 2*bar && (i == len(fed)-1 || fed[i+1].at-fed[i].at <= 2*time.Second) {
		i--
	}
	if i+1 >= len(fed) || last-fed[i+1].at < 5*time.Second {
		return false
	}
	for end := i; end >= 0; end-- {
		for j := end; j >= 0 && fed[j].value >= 50*bar && (j == end || fed[j+1].at-fed[j].at <= 2*time.Second); j-- {
			if fed[end].at-fed[j].at >= time.Second {
				return true
			}
		}
	}
	return false
}
