package simbench

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func commanded(t *testing.T) (*Rig, *hands) {
	t.Helper()
	clock := &hands{}
	r, err := New(everyKindBench(t), clock, 1)
	require.NoError(t, err)
	return r, clock
}

func do(t *testing.T, r *Rig, line string) string {
	t.Helper()
	reply, err := r.Command(line)
	require.NoError(t, err, line)
	return reply
}

func TestCommandsWorkTheBench(t *testing.T) {
	r, clock := commanded(t)
	assert.Contains(t, do(t, r, " pump   80 bar "), "80 bar")
	clock.at += 10 * time.Second
	assert.InDelta(t, 80e5, r.States()[0].Trapped, 1e3)
	do(t, r, "pump")
	clock.at += 10 * time.Second
	assert.InDelta(t, 100e5, r.States()[1].Trapped, 1e3, "without a figure: the test pressure")
	do(t, r, "lock")
	do(t, r, "vent feed")
	do(t, r, "leak 6 bar/min")
	clock.at += 10 * time.Second
	s := r.States()[0]
	assert.True(t, s.Locked && s.FeedVented)
	assert.InDelta(t, 0, s.Feed, 10)
	assert.InDelta(t, 99e5, s.Trapped, 0.2e5)
	do(t, r, "temperature 0.6 K/min")
	clock.at += 100 * time.Second
	assert.InDelta(t, s.Body+1, r.States()[0].Body, 1e-9)
	text := do(t, r, "state")
	assert.Equal(t, 2, len(strings.Split(text, "\n")))
	assert.Contains(t, text, "circuit a: trapped")
	do(t, r, "leave feed 1 bar/min")
	assert.Contains(t, do(t, r, "state"), "slowly pumped")
	do(t, r, "release")
	clock.at += 10 * time.Second
	assert.InDelta(t, 0, r.States()[0].Trapped, 500)
	assert.Empty(t, do(t, r, "   "))
}

func TestHelpListsEveryCommand(t *testing.T) {
	r, _ := commanded(t)
	text := do(t, r, "help")
	for _, v := range verbs() {
		assert.Contains(t, text, v.words)
	}
}

func TestCommandsSayWhatIsWrong(t *testing.T) {
	r, _ := commanded(t)
	for line, want := range map[string]string{
		"jump":              `found "jump"`,
		"pumping":           `found "pumping"`,
		"pump 100":          "pump: ",
		"pump -5 bar":       "0 to 1000 bar",
		"pump 100 K":        "pump: ",
		"leak":              "want RATE",
		"leak 3 bar":        "leak: ",
		"leak -3 bar/min":   "zero or more",
		"lock it":           "nothing more",
		"temperature 5":     "temperature: ",
		"leave feed fast":   "leave feed: ",
		"unplug telephone":  `no link "telephone"`,
		"plug thermometer":  "no link", // not served
		"unplug rs485 now":  "no link",
		"vent":              `found "vent"`,
		"state of the bank": "nothing more",
	} {
		_, err := r.Command(line)
		if assert.Error(t, err, line) {
			assert.Contains(t, err.Error(), want, line)
		}
	}
}

func TestCycleRunsByTheClock(t *testing.T) {
	clock := NewLockStep(morning)
	r, err := New(everyKindBench(t), clock, 1)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	c := DefaultCycle
	var told []string
	var at []time.Duration
	c.Tell = func(done string) {
		told, at = append(told, done), append(at, clock.Now())
		if len(told) == 8 {
			cancel()
		}
	}
	assert.ErrorIs(t, r.RunCycle(ctx, c), context.Canceled)
	require.Len(t, told, 8)
	assert.Equal(t, []string{"pumping", "locked", "feed side vented", "released"}, told[:4])
	assert.Equal(t, c.Before+c.Pumping, at[1])
	assert.Equal(t, c.Before+c.Pumping+c.Locked+c.Held+c.Released, at[4]-at[0])
	assert.Error(t, r.RunCycle(context.Background(), Cycle{}))
}
