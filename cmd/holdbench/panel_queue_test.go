package main

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/procedure"
	"holdbench/daq/sequence"
)

// paused is a panel on a screen that stands still until it goes on.
type paused struct {
	goOn  chan struct{}
	shown []string
}

func (p *paused) show(text string)         { <-p.goOn; p.shown = append(p.shown, text) }
func (p *paused) Prompt(q sequence.Prompt) { p.show(q.Text) }
func (p *paused) Message(text string)      { p.show(text) }
func (p *paused) Status(s sequence.Status) { p.show(string(s.Phase)) }

func TestScreenThatStandsStillHoldsUpNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		screen := &paused{goOn: make(chan struct{})}
		q := newQueued(screen)
		q.Message("one")
		time.Sleep(time.Second) // it is at it
		for range 1000 {
			q.Status(sequence.Status{Phase: procedure.Fill})
		}
		q.Status(sequence.Status{Phase: procedure.Lock})
		q.Prompt(sequence.Prompt{Text: "two"})
		q.Status(sequence.Status{Phase: procedure.Hold})
		time.AfterFunc(time.Hour, func() { close(screen.goOn) })
		q.close()
		assert.Equal(t, []string{"one", "lock", "two", "hold"}, screen.shown)
		q.Message("too late")
		assert.Len(t, screen.shown, 4)
	})
}

// A panic on the queue's goroutine ends the run on the run's own, where it
// leaves the bench safe.
func TestPanicOfAQueuedPanelComesOut(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q := newQueued(&brittle{phase: procedure.Fill, shown: 39})
		q.Status(sequence.Status{Phase: procedure.Fill})
		synctest.Wait()
		for _, then := range []func(){func() { q.Message("next") }, q.close} {
			p := daq.Guard(then)
			require.NotNil(t, p)
			assert.Equal(t, "a fault of the program", p.Value)
		}
	})
}
