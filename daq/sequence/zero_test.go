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

// zeroTest is holdTest with a zero check of ±0.5 bar over 10 s.
func zeroTest(circuits ...string) *procedure.Procedure {
	p := holdTest(circuits...)
	p.Zero = &procedure.ZeroRule{Tolerance: 0.5 * bar, Duration: 10 * time.Second}
	return p
}

func TestZerosAreReadBeforeAndAfter(t *testing.T) {
	r := newRig(t, zeroTest("a"), watched("a", 0)).in(procedure.ZeroCheck)
	require.Contains(t, r.last().Text, "open the unit and the feed side to the air")
	r.values[0][Trapped], r.values[0][Feed] = 0.12*bar, -0.03*bar
	r.say(GoOn).in(procedure.ZeroCheck).pass(9 * time.Second).in(procedure.ZeroCheck)
	r.pass(1100 * time.Millisecond).in(procedure.Fill)

	require.Contains(t, r.message(), "Zeros within ± 0.5 bar: trapped_a 0.120 bar, feed_a -0.030 bar.")

	before := r.of(daq.ZeroRead)
	require.Len(t, before, 2)
	require.Equal(t, "trapped_a", before[0].Subject)
	require.Equal(t, "a", before[0].Circuit)
	require.Equal(t, 10*time.Second, before[0].Until-before[0].At)
	require.Equal(t, "0.1200 bar, standard deviation 0.0000 bar, 100 readings: within ±0.50 bar", before[0].Text)
	require.Equal(t, "feed_a", before[1].Subject)
	require.Contains(t, before[1].Text, "-0.0300 bar")

	r.to(procedure.Release).at(0.2).say(GoOn).in(procedure.Vented).pass(6*time.Second).say(ConfirmVented, "tap open").runs()
	require.Contains(t, r.message(), "the zeros are read again, for 10 s")
	r.say(GoOn).runs().pass(10 * time.Second)
	r.ends(Outcome{Completed: true, Vented: Vented, Reason: shownVented + "; tap open"})
	require.Len(t, r.of(daq.ZeroRead), 4)
	require.Contains(t, r.of(daq.ZeroRead)[2].Text, "0.2000 bar")
}

func TestAZeroOutsideItsToleranceStopsTheTestThere(t *testing.T) {
	r := newRig(t, zeroTest("a"), watched("a", 0))
	r.values[0][Feed] = 0.8 * bar
	for range 3 {
		r.say(GoOn).pass(11 * time.Second).in(procedure.ZeroCheck)
		require.Equal(t, AskedAgain, r.last().Kind)
		require.Contains(t, r.last().Text, "Zero check: feed pressure a (channel feed_a) reads 0.800 bar where 0 ± 0.5 bar is wanted. The test stops here")
	}
	r.say(AbortTest, "transducer to the shop").in(procedure.Release).runs()
	require.True(t, r.m.Outcome().Aborted)
	require.False(t, r.m.Outcome().Completed)

	mended := newRig(t, zeroTest("a"), watched("a", 0))
	mended.values[0][Trapped] = math.NaN()
	mended.say(GoOn).pass(11 * time.Second).in(procedure.ZeroCheck)
	require.Contains(t, mended.last().Text, "0 valid readings")
	mended.values[0][Trapped] = 0
	mended.say(GoOn).pass(11 * time.Second).in(procedure.Fill)
}

func TestPressureThatReturnsWhileZerosAreReadIsNotVented(t *testing.T) {
	r := newRig(t, zeroTest("a"), watched("a", 0)).say(GoOn).pass(11 * time.Second).to(procedure.Release)
	r.at(0).say(GoOn).pass(6 * time.Second).say(ConfirmVented).pass(5 * time.Second)
	r.values[0][Trapped] = 30 * bar
	r.pass(6 * time.Second).runs()
	require.Equal(t, VentNotShown, r.last().Kind)
	require.Contains(t, r.last().Text, "No longer measured as vented")
	r.at(0).pass(6 * time.Second).say(ConfirmVented).pass(11 * time.Second)
	r.ends(Outcome{Completed: true, Vented: Vented, Reason: shownVented})
}

func TestAFeedSideOfTwoCircuitsIsReadOnce(t *testing.T) {
	b := watched("b", 3)
	b.Feed = Role{"feed_a", 1, b.Feed.Interval}
	r := newRig(t, zeroTest("a", "b"), watched("a", 0), b).say(GoOn).pass(11 * time.Second).in(procedure.Fill)
	var names []string
	for _, e := range r.of(daq.ZeroRead) {
		names = append(names, e.Subject)
	}
	require.Equal(t, []string{"trapped_a", "feed_a", "trapped_b"}, names)
}

// However answers and pressures come, nothing is pressurised before the zeros
// were within their tolerance, and the run never ends as vented while they are
// being read.
func TestNoAnswerPassesAWrongZero(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := newRig(t, zeroTest("a"), watched("a", 0))
		r.values[0][Trapped] = rapid.SampledFrom([]float64{0.6, -0.7, 3, 90}).Draw(rt, "zero") * bar
		for range rapid.IntRange(1, 30).Draw(rt, "steps") {
			switch rapid.IntRange(0, 4).Draw(rt, "what") {
			case 0:
				r.say(GoOn)
			case 1:
				r.say(ConfirmVented)
			case 2:
				r.say(TakeNote, "note")
			case 3:
				r.pass(time.Duration(rapid.IntRange(1, 15).Draw(rt, "s")) * time.Second)
			case 4:
				r.silent = !r.silent
			}
			r.in(procedure.ZeroCheck).runs()
		}
	})
}
