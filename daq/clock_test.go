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

// The silent interval between two frames is 1.75 ms on a fast line; a timer
// that is late by one more costs a tenth of the line.
func TestWallClockSleepsFinely(t *testing.T) {
	clock := daq.NewWallClock()
	const short = 300 * time.Microsecond
	least := time.Hour
	for range 100 {
		until := clock.Now() + short
		require.NoError(t, clock.Sleep(t.Context(), until))
		late := clock.Now() - until
		assert.GreaterOrEqual(t, late, time.Duration(0))
		least = min(least, late)
	}
	assert.Less(t, least, 300*time.Microsecond)
}

func TestWallClockStopsSleepingWhenToldTo(t *testing.T) {
	clock := daq.NewWallClock()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	require.ErrorIs(t, clock.Sleep(ctx, clock.Now()+time.Hour), context.DeadlineExceeded)
	require.ErrorIs(t, clock.Sleep(ctx, clock.Now()), context.DeadlineExceeded)
}

func TestWallClockInABubble(t *testing.T) {
	began := time.Now()
	synctest.Test(t, func(t *testing.T) {
		clock := daq.NewWallClock()
		for range 36000 {
			until := clock.Now() + 100*time.Millisecond + 300*time.Microsecond
			require.NoError(t, clock.Sleep(t.Context(), until))
			require.Equal(t, until, clock.Now())
		}
	})
	assert.Less(t, time.Since(began), 30*time.Second, "an hour is not waited for")
}
