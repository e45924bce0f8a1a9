package daq_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/simbench"
)

// In lock-step the same bench tells the same story, in the same order, each
// time, and its clock keeps to it.
func TestScanInLockStepIsTheSameEachTime(t *testing.T) {
	const span = 3 * time.Minute
	story := func() (told []string) {
		clock := simbench.NewLockStep(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))
		answers := instrument(func(ctx context.Context, dst []daq.Signal) error {
			dst[0] = daq.Signal{Raw: clock.Now().Seconds()}
			return nil
		})
		var lines []daq.Line
		for i, name := range []string{"a", "b", "c"} {
			lines = append(lines, daq.Line{Name: name, Sources: []daq.Source{source(name, i, 100*time.Millisecond, answers)}})
		}
		s := daq.NewScanner(clock, lines)
		s.Subscribe(func(scan daq.Scan) error {
			if len(told) < 5000 {
				told = append(told, fmt.Sprint(scan, clock.Now()))
			}
			return nil
		})
		ctx, stop := context.WithCancel(t.Context())
		defer stop()
		ended := make(chan error)
		leave := clock.Join()
		go func() { ended <- s.Run(ctx) }()
		require.NoError(t, clock.Sleep(ctx, span))
		leave()
		stop()
		require.NoError(t, <-ended)
		return told
	}
	first := story()
	require.Len(t, first, 5000)
	for range 3 {
		require.Equal(t, first, story())
	}
	assert.Equal(t, "{0s a [{0 0 0 0 ok}]} 1ns", first[0])
	assert.Equal(t, "{0s b [{1 0 0 0 ok}]} 1ns", first[1])
	assert.Equal(t, "{100ms a [{0 0.1 0.1 0 ok}]} 100.000001ms", first[3])
}
