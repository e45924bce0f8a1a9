package sequence

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

const shownVented = "measured below 2.0 bar and confirmed"

func TestMachineRunsAProcedureToVented(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Release).runs()
	require.Equal(t, 1, r.held, "judged once")
	r.at(0).say(GoOn).in(procedure.Vented).pass(6 * time.Second).runs()
	require.Equal(t, VentShown, r.last().Kind)
	r.say(ConfirmVented).ends(Outcome{Completed: true, Vented: Vented, Reason: shownVented})

	w := Windows(r.events)["a"]
	require.True(t, w.Completed)
	require.False(t, w.Aborted)
	require.InDelta(t, 60, w.HoldEnd-w.HoldStart, 0.11, "as long as the procedure says, to one scan")
	require.InDelta(t, 20, w.HoldStart-w.Locked, 2.2, "vent feed takes the operator a second or two, stabilise 20 s")
	require.Less(t, w.LockBegan, w.Locked)
	require.Equal(t, len(procedure.Phases), len(r.of(daq.PhaseBegins)), "each phase begins once")
	for i, e := range r.of(daq.PhaseBegins) {
		require.Equal(t, string(procedure.Phases[i]), e.Subject)
		require.Equal(t, "a", e.Circuit)
	}
}

func TestAbortNeverEndsTheVentWatch(t *testing.T) {
	for _, ph := range []procedure.Phase{procedure.Fill, procedure.Pressurise, procedure.Lock, procedure.VentFeed, procedure.Stabilise, procedure.Hold} {
		t.Run(string(ph), func(t *testing.T) {
			r := newRig(t, holdTest("a"), watched("a", 0)).to(ph)
			r.say(AbortTest, "hose burst").in(procedure.Release).runs()
			r.at(0).say(GoOn).in(procedure.Vented).pass(time.Minute).runs()
			require.Zero(t, r.held)

			want := Outcome{Aborted: true, Cause: "operator: hose burst", Vented: Vented, Reason: shownVented}
			r.say(ConfirmVented)
			if ph == procedure.Fill || ph == procedure.Pressurise {
				// Never under pressure: a low reading proves nothing.
				r.runs()
				require.Contains(t, r.message(), "never showed 50.0 bar or more in this test")
				r.say(OverrideVented, "never pumped up")
				want.Vented, want.Reason = Overridden, "never pumped up; not shown: circuit a: its transducer never showed 50.0 bar or more in this test, so its low reading proves nothing"
			}
			r.ends(want)
			w := Windows(r.events)["a"]
			require.False(t, w.Completed)
			require.True(t, w.Aborted)
			require.Equal(t, "operator: hose burst", w.Cause)
			require.Equal(t, ph != procedure.Hold, math.IsNaN(w.HoldStart))
			require.Equal(t, ph != procedure.Hold, math.IsNaN(w.HoldEnd))
		})
	}
}

func TestAbortAfterTheHoldSpoilsNothing(t *testing.T) {
	for _, ph := range []procedure.Phase{procedure.Release, procedure.Vented} {
		r := newRig(t, holdTest("a"), watched("a", 0)).to(ph).say(AbortTest, "changed my mind").in(ph).runs()
		require.Empty(t, r.of(daq.Abort))
		r.at(0).say(GoOn).pass(6 * time.Second).say(ConfirmVented)
		r.ends(Outcome{Completed: true, Vented: Vented, Reason: shownVented})
	}
}

func TestPressureOutsideTheStartWindowIsAskedOnceMore(t *testing.T) {
	for _, ph := range []procedure.Phase{procedure.Pressurise, procedure.Lock} {
		t.Run(string(ph), func(t *testing.T) {
			r := newRig(t, holdTest("a"), watched("a", 0)).to(ph).at(62)
			r.say(GoOn).in(ph)
			require.Equal(t, AskedAgain, r.last().Kind)
			require.Contains(t, r.last().Text, "trapped pressure a 62.0 bar, 95.0–105.0 bar wanted: ")
			require.Contains(t, r.last().Text, "press Enter again to go on anyway")
			r.say(GoOn)
			require.NotEqual(t, ph, r.m.phase())
			answers := r.of(daq.Answered)
			require.Equal(t, "went on anyway: trapped pressure a 62.0 bar, 95.0–105.0 bar wanted", answers[len(answers)-1].Text)
		})
	}
	t.Run("pumped further", func(t *testing.T) {
		r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Pressurise).at(62).say(GoOn).at(101).say(GoOn)
		r.in(procedure.Lock)
		answers := r.of(daq.Answered)
		require.Empty(t, answers[len(answers)-1].Text, "it fits now")
	})
	t.Run("no reading", func(t *testing.T) {
		r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Pressurise).at(math.NaN()).say(GoOn).in(procedure.Pressurise)
		require.Contains(t, r.last().Text, "trapped pressure a no fresh reading, 95.0–105.0 bar wanted")
	})
}

func TestUnventedFeedIsAskedOnceMore(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.VentFeed)
	r.values[0][Feed] = 40 * bar
	r.say(GoOn).in(procedure.VentFeed)
	require.Contains(t, r.last().Text, "feed pressure a 40.0 bar, below 5.0 bar wanted: vent the feed side, or press Enter again")
	r.say(GoOn).in(procedure.Stabilise).pass(20 * time.Second).in(procedure.Hold)
	require.Equal(t, "feed pressure a 40.0 bar, below 5.0 bar wanted", r.of(daq.Note)[0].Text, "and told when the hold begins")

	r = newRig(t, holdTest("a"), watched("a", 0)).to(procedure.VentFeed)
	r.values[0][Feed] = math.NaN()
	r.say(GoOn).in(procedure.VentFeed)

	unmeasured := watched("a", 0)
	unmeasured.Feed, unmeasured.FeedUnmeasured = Role{}, true
	newRig(t, holdTest("a"), unmeasured).to(procedure.VentFeed).say(GoOn).in(procedure.Stabilise)
}

// A feed transducer that never showed the pressure shows no feed side vented.
func TestFeedThatDidNotFollowThePressureIsAskedOnceMore(t *testing.T) {
	for name, c := range map[string]struct {
		pump func(r *rig)
		why  string
	}{
		"dead at zero": {func(r *rig) { r.at(100) }, "it never showed 50.0 bar or more in this test"},
		"one spike":    {func(r *rig) { r.at(100).feed(100).pass(100 * time.Millisecond) }, "it never showed 50.0 bar or more in this test"},
		"its wire broke under pressure": {func(r *rig) {
			r.feed(100).at(100).pass(time.Second).feed(math.NaN())
			r.health = daq.BrokenWire
			r.pass(300 * time.Millisecond)
		}, "its wiring was at fault while it was under pressure"},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Pressurise)
			c.pump(r)
			r.feed(0).say(GoOn).say(GoOn).say(GoOn).in(procedure.VentFeed)
			const what = "the feed transducer a (channel feed_a) did not follow the pressure: "
			require.Equal(t, AskedAgain, r.last().Kind)
			require.Contains(t, r.last().Text, what+c.why+", so its low reading does not show the feed side vented: "+
				"see at another gauge that the feed side is vented, and mend its transducer, or press Enter again to go on anyway.")
			r.say(GoOn).in(procedure.Stabilise).pass(20 * time.Second).in(procedure.Hold)
			require.Contains(t, r.of(daq.Note)[len(r.of(daq.Note))-1].Text, what, "and told when the hold begins")
		})
	}
	unmeasured := watched("a", 0)
	unmeasured.Feed, unmeasured.FeedUnmeasured = Role{}, true
	newRig(t, holdTest("a"), unmeasured).to(procedure.VentFeed).say(GoOn).in(procedure.Stabilise)
}

func TestTimedPressuriseWaitsUntilThePressureFits(t *testing.T) {
	p := holdTest("a")
	p.Steps[1] = procedure.Step{Phase: procedure.Pressurise, Duration: 10 * time.Second}
	r := newRig(t, p, watched("a", 0)).to(procedure.Pressurise)
	r.at(60).pass(30 * time.Second).in(procedure.Pressurise)
	require.Equal(t, 1, r.count(AskedAgain), "asked once, not at each scan")
	r.at(100).in(procedure.Lock)

	r = newRig(t, p, watched("a", 0)).to(procedure.Pressurise).at(60).pass(30 * time.Second).say(GoOn).in(procedure.Lock)
	require.Contains(t, r.of(daq.Answered)[1].Text, "went on anyway")
}

func TestTimeoutAsksAgainAndNeverEndsTheTest(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).pass(100 * time.Second).in(procedure.Fill).runs()
	require.Equal(t, 3, r.count(Reminder))
	require.Len(t, r.of(daq.Asked), 4)
}

func TestEnterDoesNotEndATimedPhase(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Hold).say(GoOn).in(procedure.Hold)
	require.Contains(t, r.message(), "Hold ends by itself in 0:5")
}

func TestEnterRightAfterAPromptIsNotTaken(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).say(GoOn).in(procedure.Pressurise)
	r.step(Input{At: r.now + tooSoon - 1, Answer: &Answer{Kind: GoOn}})
	r.in(procedure.Pressurise)
	require.Contains(t, r.message(), "too soon")
	require.Zero(t, r.count(AskedAgain))
}

func TestMaximumPressureAborts(t *testing.T) {
	for _, part := range []Part{Trapped, Feed} {
		r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Pressurise)
		r.values[0][part] = 121 * bar
		r.pass(100 * time.Millisecond).in(procedure.Release).runs()
		require.Equal(t, []daq.Event{{At: r.now, Until: r.now, Kind: daq.Interlock, Circuit: "a", Subject: "maximum pressure",
			Text: part.String() + " a 121.0 bar, above 120.0 bar"}}, r.of(daq.Interlock))
		require.True(t, r.m.Outcome().Aborted)
		require.Equal(t, "maximum pressure: "+part.String()+" a 121.0 bar, above 120.0 bar", Windows(r.events)["a"].Cause)
	}
	t.Run("over range", func(t *testing.T) {
		r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Pressurise)
		r.health, r.values[0][Trapped] = daq.OverRange, math.NaN()
		r.pass(900 * time.Millisecond).in(procedure.Pressurise)
		r.pass(300 * time.Millisecond).in(procedure.Release)
		require.Contains(t, r.m.Outcome().Cause, "over the range of its transducer")
	})
	t.Run("a thermometer over its range is no pressure", func(t *testing.T) {
		r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Hold)
		r.health, r.values[0][Temperature] = daq.OverRange, math.NaN()
		r.pass(10 * time.Second).in(procedure.Hold)
	})
	t.Run("after the test", func(t *testing.T) {
		r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Release).at(121)
		require.Empty(t, r.of(daq.Abort))
		require.True(t, r.m.Outcome().Completed)
	})
}

func TestLostInstrumentIsToldAndTheTestGoesOn(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Hold)
	r.silent = true
	r.pass(10 * time.Second).in(procedure.Hold)
	require.Equal(t, 3, r.count(ReadingsLost), "once for each channel")
	require.True(t, math.IsNaN(r.m.Status().Circuits[0].Trapped), "an old value is not shown as new")
	r.silent = false
	r.pass(time.Second)
	require.Len(t, r.of(daq.Note), 3)
	require.Equal(t, "readings back", r.of(daq.Note)[0].Subject)
	r.silent = true
	r.pass(60 * time.Second).in(procedure.Release)
	require.True(t, Windows(r.events)["a"].Completed, "whether enough was read is for the judgement")
}

func TestLostInstrumentAbortsWhereTheProcedureWantsIt(t *testing.T) {
	p := holdTest("a")
	p.LostAfter = 10 * time.Second
	r := newRig(t, p, watched("a", 0)).to(procedure.Hold)
	r.silent = true
	r.pass(9 * time.Second).in(procedure.Hold)
	require.Contains(t, r.last().Text, "After 10 s without one the test is aborted.")
	r.silent = false
	r.pass(time.Second).in(procedure.Hold) // it was back in time
	r.silent = true
	r.pass(12 * time.Second).in(procedure.Release).runs()
	require.Len(t, r.of(daq.Interlock), 1)
	require.Equal(t, "readings lost", r.of(daq.Interlock)[0].Subject)
	require.Regexp(t, `^readings lost: no valid reading of trapped pressure a \(channel trapped_a\) for 1[01] s$`, r.m.Outcome().Cause)
	require.False(t, r.m.Outcome().Completed)
	r.pass(time.Minute)
	require.Len(t, r.of(daq.Interlock), 1, "the vent watch aborts nothing")
}

func TestSlowInstrumentIsNotLostBetweenItsReadings(t *testing.T) {
	p := holdTest("a")
	p.LostAfter = time.Second
	slow := watched("a", 0)
	slow.Temperature.Interval = 5 * time.Second
	r := newRig(t, p, slow).to(procedure.Hold)
	r.silent = true
	for range 3 { // pressures each half second, the temperature each five
		r.step(Input{At: r.now, Readings: r.readings()})
		for range 10 {
			r.now += 500 * time.Millisecond
			r.step(Input{At: r.now, Readings: r.readings()[:2]})
		}
	}
	r.in(procedure.Hold)
}

func TestFaultOfTheRecordingAborts(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Hold)
	r.step(Input{At: r.now, RecordingFault: "cannot be written: disk full"})
	r.in(procedure.Release).runs()
	require.Equal(t, "recording: cannot be written: disk full", r.m.Outcome().Cause)
}

func TestLateScanDoesNotReplaceANewerOne(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Hold)
	r.step(Input{At: r.now - time.Second, Readings: []Reading{{Part: Trapped, Value: 7 * bar}}})
	require.Equal(t, 100*bar, r.m.Status().Circuits[0].Trapped)
	require.Equal(t, r.now, r.m.Status().At)
}

func TestNoteIsRecordedAndTheTestGoesOn(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Hold).say(TakeNote, "crane 3, east quay")
	notes := r.of(daq.Note)
	require.Equal(t, "crane 3, east quay", notes[len(notes)-1].Text)
	r.in(procedure.Hold)
}

func TestPromptSaysHowThePhaseEnds(t *testing.T) {
	p := holdTest("a")
	p.Steps[0].Prompt = "Fill slowly, then press Enter."
	p.Steps[1].Prompt = "Pump up."
	r := newRig(t, p, watched("a", 0)).to(procedure.Release)
	var begun []string
	for _, q := range r.prompts {
		begun = append(begun, q.Text)
	}
	require.Equal(t, []string{
		"Fill slowly, then press Enter.",
		"Pump up. Then press Enter.",
		"Lock circuit a. Then press Enter.",
		"Vent the feed side of circuit a below 5.0 bar. Then press Enter.",
		"Stabilise: leave the unit alone. (0:20)",
		"Hold: leave the unit alone. (1:00)",
		"Release the pressure of circuit a. Then press Enter.",
	}, begun)
}

func TestStatusShowsElapsedRemainingAndReadings(t *testing.T) {
	r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Hold).pass(15 * time.Second)
	s := r.m.Status()
	require.True(t, s.Timed)
	require.Equal(t, 15*time.Second, s.Elapsed)
	require.Equal(t, 45*time.Second, s.Remaining)
	require.Equal(t, []CircuitStatus{{Name: "a", Tested: true, Trapped: 100 * bar, Feed: 0, Temperature: 293}}, s.Circuits)
	require.Equal(t, []string{"circuit a: not below 2.0 bar"}, s.Vent.Missing)
	require.False(t, newRig(t, holdTest("a"), watched("a", 0)).m.Status().Timed, "by the operator")
}
