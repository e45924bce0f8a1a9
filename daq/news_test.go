package daq_test

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
)

// Who subscribes late hears what was noted before, so that a recording that
// begins in the middle has it.
func TestNotesOfBeforeAreToldToWhoComesLate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		samples := 0
		src := source("meter", 0, 100*time.Millisecond, instrument(func(_ context.Context, dst []daq.Signal) error {
			samples++
			dst[0] = daq.Signal{Raw: 1}
			return nil
		}))
		src.News = func() []daq.Event {
			switch samples {
			case 1:
				return []daq.Event{{Kind: daq.Note, Subject: "identity of meter", Text: "the first"}}
			case 3:
				return []daq.Event{{Kind: daq.Fault, Subject: "meter", Text: "another"}, {Kind: daq.Note, Subject: "identity of meter", Text: "the second"}}
			}
			return nil
		}
		s := daq.NewScanner(daq.NewWallClock(), []daq.Line{{Sources: []daq.Source{src}}})
		var early, late []daq.Event
		s.OnEvent(func(e daq.Event) { early = append(early, e) })
		time.AfterFunc(550*time.Millisecond, func() { s.OnEvent(func(e daq.Event) { late = append(late, e) }) })
		ctx, stop := context.WithTimeout(t.Context(), 990*time.Millisecond)
		defer stop()
		require.NoError(t, s.Run(ctx))
		at := func(d time.Duration, k daq.EventKind, subject, text string) daq.Event {
			return daq.Event{At: d, Until: d, Kind: k, Subject: subject, Text: text}
		}
		assert.Equal(t, []daq.Event{
			at(0, daq.Note, "identity of meter", "the first"),
			at(200*time.Millisecond, daq.Fault, "meter", "another"),
			at(200*time.Millisecond, daq.Note, "identity of meter", "the second"),
		}, early)
		assert.Equal(t, []daq.Event{at(600*time.Millisecond, daq.Note, "identity of meter", "the second")}, late)
	})
}
