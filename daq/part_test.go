package daq_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
)

// heeding is relays that take no command once its context has ended.
type heeding struct{ *relays }

func (h heeding) Drive(ctx context.Context, output int, on bool) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return h.relays.Drive(ctx, output, on)
}

// dead is an instrument without power: each command waits for an answer, and
// for the one that is owed.
type dead struct{}

func (dead) Sample(ctx context.Context, _ []daq.Signal) error { return dead{}.Drive(ctx, 0, false) }

func (dead) Drive(ctx context.Context, _ int, _ bool) error {
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(3 * time.Second):
		return errors.New("no answer")
	}
}

// What a dead instrument costs is not taken from those beside it on the line.
func TestPumpIsOffBesideADeadInstrument(t *testing.T) {
	for name, beside := range map[string]time.Duration{"dead since long": 20 * time.Second, "dies at the end": 0} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := &relays{}
				line := r.line(true)
				line.Sources[0].Driver = heeding{r}
				first := source("dead", 1, 100*time.Millisecond, dead{})
				first.Driver, first.Outputs = dead{}, []daq.Output{{Name: "booster", Role: daq.Pump}}
				line.Sources = append([]daq.Source{first}, line.Sources...)
				s := daq.NewScanner(daq.NewWallClock(), []daq.Line{line})
				ctx, stop := context.WithCancel(t.Context())
				over := make(chan error, 1)
				go func() { over <- s.Run(ctx) }()
				time.Sleep(beside)
				require.NoError(t, s.Drive(ctx, "pump", true, "begin"))
				stop()
				began := time.Now()
				for {
					time.Sleep(10 * time.Millisecond)
					r.mu.Lock()
					on := r.on[0]
					r.mu.Unlock()
					if !on || time.Since(began) > time.Minute {
						assert.False(t, on, "the pump runs on")
						break
					}
				}
				if beside > 0 {
					assert.Less(t, time.Since(began), time.Second, "who answers comes first")
				}
				require.NoError(t, <-over)
				assert.Less(t, time.Since(began), 15*time.Second)
			})
		})
	}
}

// A disk or a screen that stands still, so that nobody looks at what is read,
// leaves no pump running.
func TestPumpIsOffWhenNobodyLooks(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &relays{}
		still, goOn := false, make(chan struct{})
		told, err := r.scanned(t, t.Context(), true, func(s *daq.Scanner, _ *told) {
			require.NoError(t, s.Drive(t.Context(), "pump", true, "begin"))
			s.Subscribe(func(daq.Scan) error {
				if !still {
					still = true
					<-goOn
				}
				return nil
			})
			time.Sleep(1500 * time.Millisecond)
			r.set(func() { assert.True(t, r.on[0]) })
			time.Sleep(1500 * time.Millisecond)
			r.set(func() {
				assert.False(t, r.on[0], "the pump runs on")
				assert.Equal(t, []string{"0 false", "0 true", "0 false"}, r.said, "said once")
			})
			close(goOn)
			time.Sleep(time.Second)
		})
		require.NoError(t, err)
		var safe []string
		for _, d := range told.driving {
			if d.Safe {
				safe = append(safe, d.Cause)
			}
		}
		assert.Equal(t, []string{"scanning begins", "what is read is not looked at", "scanning ends"}, safe)
	})
}

// An order that was taken back while it waited is not carried out.
func TestOrderTakenBackSwitchesNothingOn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &relays{}
		told, err := r.scanned(t, t.Context(), true, func(s *daq.Scanner, _ *told) {
			time.Sleep(time.Second)
			r.set(func() { r.mute = true })
			time.Sleep(150 * time.Millisecond) // within an exchange
			r.set(func() { r.mute = false })
			require.NoError(t, s.Order("pump", true, "begin"))
			require.NoError(t, s.Order("vent", true, "begin"))
			require.NoError(t, s.Order("pump", false, "the test is aborted"))
			time.Sleep(time.Second)
		})
		require.NoError(t, err)
		assert.Equal(t, []string{"0 false", "1 true", "0 false", "0 false"}, r.said)
		require.ErrorIs(t, told.driving[1].Err, daq.ErrRevoked)
	})
}
