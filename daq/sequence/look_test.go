package sequence

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// lookedTest is holdTest with looks at 20, 40, 60 s of a hold of 40 s that may
// go on to 60 s.
func lookedTest() *procedure.Procedure {
	p := holdTest("a")
	for i := range p.Steps {
		if p.Steps[i].Phase == procedure.Hold {
			p.Steps[i].Duration, p.Steps[i].ExtendTo = 40*time.Second, 60*time.Second
		}
	}
	p.Looks = &procedure.Looks{Times: []time.Duration{20 * time.Second, 40 * time.Second, 60 * time.Second}}
	return p
}

// answer hands in what a look saw.
func (r *rig) answerLook(number int, end bool, text string) *rig {
	r.t.Helper()
	r.step(Input{At: r.now, Look: &LookAnswer{Number: number, End: end, Text: text}})
	return r
}

func TestLookThatDecidesEndsTheHold(t *testing.T) {
	r := newRig(t, lookedTest(), watched("a", 0)).to(procedure.Hold)
	r.pass(19 * time.Second)
	require.Empty(t, r.of(daq.Looked))
	r.pass(2 * time.Second)
	require.Len(t, r.of(daq.Looked), 1)
	require.Equal(t, daq.Open, r.of(daq.Looked)[0].Until, "until it is answered")
	r.answerLook(1, true, "decided: PASS").in(procedure.Release).runs()
	require.Equal(t, 1, r.held, "judged once")
	require.Equal(t, "Look 1 of 3: decided: PASS", r.message())

	looks := r.of(daq.Looked)
	require.Len(t, looks, 2, "the same event, closed")
	require.Equal(t, looks[0].At, looks[1].At)
	require.Equal(t, r.now, looks[1].Until)
	require.Equal(t, "1 of 3", looks[1].Subject)
	require.Equal(t, "decided: PASS", looks[1].Text)
	w := Windows(r.events)["a"]
	require.True(t, w.Completed, "a hold that a look ended is complete")
	require.InDelta(t, 21, w.HoldEnd-w.HoldStart, 0.5)
	require.Equal(t, []Look{{Number: 1, Planned: 3, At: looks[0].At}}, Looks(r.events))

	r.answerLook(1, true, "late").in(procedure.Release)
	require.Len(t, r.of(daq.Looked), 2, "an answer after the hold changes nothing")
}

func TestHoldGoesOnWithItsLooksAndSaysWhy(t *testing.T) {
	r := newRig(t, lookedTest(), watched("a", 0)).to(procedure.Hold).pass(21 * time.Second)
	require.InDelta(t, 19, r.m.Status().Remaining.Seconds(), 1, "to its own end")
	r.answerLook(1, false, "goes on: too close").in(procedure.Hold)
	require.Equal(t, "goes on: too close", r.m.Status().Look)
	r.answerLook(1, true, "twice").in(procedure.Hold)

	r.pass(20 * time.Second).in(procedure.Hold)
	require.InDelta(t, 19, r.m.Status().Remaining.Seconds(), 1, "to the longest")
	r.answerLook(2, false, "goes on: more time can settle it").pass(18 * time.Second).in(procedure.Hold)
	r.pass(2 * time.Second).in(procedure.Hold)
	r.answerLook(3, false, "undecided").in(procedure.Release)
	require.True(t, r.m.Outcome().Completed)
	require.Empty(t, r.m.Status().Look)
	require.Equal(t, 1, r.held)
}

func TestLookAtTheHoldsEndEndsItWhereTimeSettlesNothing(t *testing.T) {
	r := newRig(t, lookedTest(), watched("a", 0)).to(procedure.Hold).pass(21 * time.Second)
	r.answerLook(1, false, "goes on").pass(20 * time.Second)
	r.answerLook(2, true, "ends undecided").in(procedure.Release)
	require.True(t, r.m.Outcome().Completed)
}

func TestLooksThatAreDueTogetherAreOne(t *testing.T) {
	r := newRig(t, lookedTest(), watched("a", 0)).to(procedure.Hold)
	r.now += 45 * time.Second // nothing was heard
	r.step(Input{At: r.now, Readings: r.readings()})
	require.Len(t, r.of(daq.Looked), 1)
	require.Equal(t, "2 of 3", r.of(daq.Looked)[0].Subject)
}

func TestUnansweredLookDoesNotHoldTheUnitForEver(t *testing.T) {
	r := newRig(t, lookedTest(), watched("a", 0)).to(procedure.Hold).pass(119 * time.Second).in(procedure.Hold)
	r.pass(3 * time.Second).in(procedure.Release)
	looks := r.of(daq.Looked)
	require.Equal(t, "nobody answered", looks[len(looks)-1].Text)
}

func TestAbortClosesAnOpenLook(t *testing.T) {
	r := newRig(t, lookedTest(), watched("a", 0)).to(procedure.Hold).pass(21 * time.Second)
	r.say(AbortTest, "hose burst").in(procedure.Release)
	looks := r.of(daq.Looked)
	require.Len(t, looks, 2)
	require.Equal(t, "the hold ended before it was answered", looks[1].Text)
	require.False(t, Windows(r.events)["a"].Completed)
}
