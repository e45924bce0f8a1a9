package comparison

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// hands steps a machine through made-up time, with a reading each 100 ms.
type hands struct {
	t       require.TestingT
	m       *Machine
	now     time.Duration
	value   float64 // of channel and reference, bar
	rate    float64 // bar/s
	silent  bool
	lines   []string
	events  []daq.Event
	done    bool
	aborted string
}

func newHands(t require.TestingT, typed bool, points ...float64) *hands {
	h := &hands{t: t, m: NewMachine(Config{Channel: "trapped", Typed: typed, ReferenceU: 100, Stops: Plan(points, 1), Quantity: si.Pressure,
		Unit: unit(t, si.Pressure), Change: unit(t, si.PressureChange), Settle: 2 * time.Second, Average: 3 * time.Second})}
	h.step(Tick(0))
	return h
}

func (h *hands) step(in Input) {
	out := h.m.Step(in)
	h.lines, h.events = append(h.lines, out.Lines...), append(h.events, out.Events...)
	if out.Done {
		h.done = true
		if out.Aborted != "" {
			h.aborted = out.Aborted
		}
	}
}

func (h *hands) pass(d time.Duration) *hands {
	for end := h.now + d; h.now < end; {
		h.now += 100 * time.Millisecond
		h.value += h.rate * 0.1
		in := Tick(h.now)
		if !h.silent {
			in.Channel, in.Reference = h.value*bar, (h.value+0.1)*bar
		}
		h.step(in)
	}
	return h
}

func (h *hands) say(text string) *hands {
	in := Tick(h.now)
	in.Answer = &text
	h.step(in)
	return h
}

func (h *hands) last() string { return h.lines[len(h.lines)-1] }

func TestAPointIsAveragedOnceItIsSteadyAndNear(t *testing.T) {
	h := newHands(t, false, 0, 100*bar)
	h.value, h.rate = 0, 0.5
	h.pass(10 * time.Second) // at 5 bar and still moving
	assert.NotContains(t, strings.Join(h.lines, "\n"), "averaging")
	h.say("")
	assert.Contains(t, h.last(), "trapped still moves, by 1.000 bar in 2 s (take averages all the same)")
	h.rate = 0
	h.pass(2500 * time.Millisecond)
	assert.Contains(t, h.last(), "averaging for 3 s")
	h.say("")
	assert.Contains(t, h.last(), "wait for the question")
	h.pass(3500 * time.Millisecond)
	assert.Contains(t, h.last(), "trapped 5.000 bar, noise 0.000 bar (1 SD, 30 readings); reference 5.100 bar")
	h.say("5 bar")
	assert.Contains(t, h.last(), "the reference is a channel of the bench")
	require.Empty(t, h.events)
	h.say("")
	require.Len(t, h.events, 1)
	assert.Equal(t, daq.Compared, h.events[0].Kind)
	assert.Equal(t, 3*time.Second, h.events[0].Until-h.events[0].At)
	s, reference, u, err := ParseWords(h.events[0].Text)
	require.NoError(t, err)
	assert.Equal(t, Stop{Cycle: 1, Up: true}, s)
	assert.InDelta(t, 5.1*bar, reference, 1e-3)
	assert.Equal(t, 100.0, u)
	h.pass(time.Minute)
	assert.Contains(t, h.last(), "waiting: trapped shows 5.000 bar, 100.000 bar wanted")
}

func TestWhatMovesWhileItIsAveragedIsNotTaken(t *testing.T) {
	h := newHands(t, true, 0, 100*bar).pass(2500 * time.Millisecond)
	assert.Contains(t, h.last(), "averaging")
	h.rate = 0.2
	h.pass(time.Second)
	h.rate = 0
	h.pass(2 * time.Second)
	assert.Contains(t, strings.Join(h.lines, "\n"), "not taken: trapped still moves")
	h.pass(6 * time.Second)
	assert.Contains(t, h.last(), "What does the reference show?")
	h.say("again").pass(200 * time.Millisecond)
	assert.Contains(t, h.last(), "averaging")
}

func TestTakeAveragesWhatIsNotSteadyAndSaysSo(t *testing.T) {
	h := newHands(t, true, 0, 100*bar)
	h.rate = 0.1
	h.pass(3 * time.Second).say("take").pass(4 * time.Second)
	assert.Contains(t, h.last(), "What does the reference show?")
	require.Len(t, h.events, 1)
	assert.Contains(t, h.events[0].Text, "averaged although not steady: trapped still moves")
}

func TestAbortNeedsAReasonAndEnds(t *testing.T) {
	h := newHands(t, true, 0, 100*bar).say("abort")
	assert.False(t, h.done)
	h.say("abort hose burst")
	assert.True(t, h.done)
	assert.Equal(t, "hose burst", h.aborted)
	assert.Equal(t, daq.Abort, h.events[0].Kind)
	assert.Empty(t, h.pass(time.Second).events[1:])
}

// Whatever is typed and whenever, no stop is taken that was not averaged, and
// none whose reference is far from what the channel shows.
func TestNothingTypedTakesNonsense(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := newHands(rt, true, 0, 100*bar)
		for range rapid.IntRange(1, 40).Draw(rt, "steps") {
			switch rapid.IntRange(0, 4).Draw(rt, "what") {
			case 0:
				h.say(rapid.SampledFrom([]string{"", "again", "take", "50 bar", "99.9 bar", "0.2 bar", "1e9 bar", "NaN bar", "note x", "?", "xyz", "100"}).Draw(rt, "text"))
			case 1:
				h.value = rapid.SampledFrom([]float64{0, 0.3, 50, 100, math.NaN()}).Draw(rt, "value")
			case 2:
				h.silent = !h.silent
			default:
				h.pass(time.Duration(rapid.IntRange(1, 8).Draw(rt, "s")) * time.Second)
			}
		}
		for _, e := range h.events {
			if e.Kind != daq.Compared {
				continue
			}
			_, reference, _, err := ParseWords(e.Text)
			require.NoError(rt, err)
			require.Equal(rt, 3*time.Second, e.Until-e.At)
			require.False(rt, reference > 111*bar || math.IsNaN(reference))
		}
	})
}

// What is waited for is said so that somebody can do something about it.
func TestAChannelThatIsHeardTooSeldomIsCounted(t *testing.T) {
	h := newHands(t, true, 0, 100*bar)
	h.pass(300 * time.Millisecond)
	h.silent = true
	h.pass(31 * time.Second)
	assert.Contains(t, h.last(), "waiting: too few valid readings of trapped: 0 in the last 2 s, at least 5 wanted")
}
