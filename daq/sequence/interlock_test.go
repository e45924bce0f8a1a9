package sequence

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// doubt scans for a while; how each reading of the trapped pressure is, tells a
// function of its number.
func (r *rig) doubt(d time.Duration, each func(k int) Reading) {
	r.t.Helper()
	for k := 0; time.Duration(k)*100*time.Millisecond < d; k++ {
		r.now += 100 * time.Millisecond
		r.step(Input{At: r.now, Readings: []Reading{each(k)}})
	}
}

func tooFast(bars float64) Reading {
	return Reading{Part: Trapped, Value: math.NaN(), Doubted: bars * bar, Health: daq.TooFast}
}

// A pump whose strokes are faster than what its channel is believed to do must
// not hide from the interlock how high they go.
func TestMaximumPressureIsSeenInReadingsThatAreTooFast(t *testing.T) {
	healthy := Reading{Part: Trapped, Value: 90 * bar}
	over := Reading{Part: Trapped, Value: math.NaN(), Health: daq.OverRange}
	for name, c := range map[string]struct {
		each func(k int) Reading
		text string
	}{
		"all too fast":       {func(k int) Reading { return tooFast(150 + 50*float64(k%2)) }, "again and again above 120.0 bar, at last 200.0 bar; none of it is believed: too fast"},
		"every other stroke": {func(k int) Reading { return []Reading{healthy, tooFast(200)}[k%2] }, "at last 200.0 bar; none of it is believed"},
		"over range now and then": {func(k int) Reading { return []Reading{over, healthy, healthy}[k%3] },
			"over the range of its transducer"},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Pressurise)
			r.doubt(900*time.Millisecond, c.each)
			r.in(procedure.Pressurise)
			r.doubt(500*time.Millisecond, c.each)
			r.in(procedure.Release)
			require.Equal(t, "maximum pressure", r.of(daq.Interlock)[0].Subject)
			require.Contains(t, r.m.Outcome().Cause, "maximum pressure: trapped pressure a ")
			require.Contains(t, r.m.Outcome().Cause, c.text)
		})
	}
	for name, each := range map[string]func(k int) Reading{
		"strokes below the maximum": func(k int) Reading { return tooFast(40 + 60*float64(k%2)) },
		"a spike now and then":      func(k int) Reading { return map[bool]Reading{true: tooFast(400), false: healthy}[k%10 == 0] },
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Pressurise)
			r.doubt(10*time.Second, each)
			require.Empty(t, r.of(daq.Interlock))
		})
	}
}

// Whoever pumps by hand is told to stop as soon as the pressure is not seen,
// and again when pumping begins on such a bench.
func TestWhoPumpsIsToldThatThePressureIsNotSeen(t *testing.T) {
	for _, h := range []daq.Health{daq.BrokenWire, daq.ShortCircuit, daq.Missing, daq.TooFast} {
		r := newRig(t, holdTest("a"), watched("a", 0)).to(procedure.Pressurise).at(50)
		r.health, r.values[0][Trapped] = h, math.NaN()
		r.pass(time.Second).in(procedure.Pressurise)
		require.Zero(t, r.count(ReadingsLost))
		r.pass(100 * time.Millisecond)
		require.Equal(t, ReadingsLost, r.last().Kind)
		require.Contains(t, r.last().Text, "Stop pumping: trapped pressure a (channel trapped_a) is not seen ("+h.String()+
			"), and nothing watches the maximum pressure. No valid reading")
		require.NotContains(t, r.messages, "Valid readings of trapped pressure a (channel trapped_a) are back.")
		r.say(GoOn).say(GoOn).in(procedure.Lock).pass(time.Second)
		require.NotContains(t, r.messages, "Valid readings of trapped pressure a (channel trapped_a) are back.")
		r.at(50)
		require.Equal(t, "Valid readings of trapped pressure a (channel trapped_a) are back.", r.message())
	}
	r := newRig(t, holdTest("a"), watched("a", 0))
	r.values[0][Trapped] = math.NaN()
	r.pass(5 * time.Second).say(GoOn).in(procedure.Pressurise).pass(200 * time.Millisecond)
	require.Equal(t, 2, r.count(ReadingsLost), "in fill, and again")
	require.Contains(t, r.last().Text, "Stop pumping")
}

func TestInterlockGetsWhatAReadingWouldBe(t *testing.T) {
	roles := Roles{Circuits: []Circuit{watched("a", 0)}}
	picked := roles.Pick(daq.Scan{Readings: []daq.Reading{{Channel: 0, Value: math.NaN(), Doubted: 200 * bar, Health: daq.TooFast}}})
	require.Len(t, picked, 1)
	require.Equal(t, 200*bar, picked[0].Doubted)
}
