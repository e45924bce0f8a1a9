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

// timed scans lines for that long and returns their timing and the scans.
func timed(t *testing.T, span time.Duration, lines ...daq.Line) ([]daq.Timing, []daq.Scan) {
	s := daq.NewScanner(daq.NewWallClock(), lines)
	var scans []daq.Scan
	s.Subscribe(func(scan daq.Scan) error { scans = append(scans, scan); return nil })
	ctx, stop := context.WithTimeout(t.Context(), span)
	defer stop()
	require.NoError(t, s.Run(ctx))
	return s.Timing(), scans
}

func TestTimingOfAPunctualInstrument(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		timing, _ := timed(t, 10*time.Second+50*time.Millisecond, daq.Line{Name: "a", Sources: []daq.Source{source("fast", 0, 100*time.Millisecond, takes(20*time.Millisecond))}})
		require.Len(t, timing, 1)
		x := timing[0]
		assert.Equal(t, "fast", x.Instrument)
		assert.Equal(t, 101, x.Scans)
		assert.InDelta(t, 0.1, x.Mean, 1e-12)
		assert.InDelta(t, 0, x.Jitter, 1e-12)
		assert.Equal(t, 10*time.Millisecond, x.Latest, "the middle of the exchange")
		assert.Zero(t, x.Missed)
		assert.Equal(t, "101 scans, mean interval 100.000 ms, sd 0.000 ms, latest by 10.0 ms, 0 missed", x.String())
	})
}

func TestTimingCountsMissedTicksAndLateness(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		n := 0
		slow := instrument(func(_ context.Context, dst []daq.Signal) error {
			if n++; n%10 == 0 {
				time.Sleep(250 * time.Millisecond) // the two ticks that follow are missed
			} else if n%10 == 5 {
				return errors.New("no answer") // one more
			}
			dst[0] = daq.Signal{Raw: 1}
			return nil
		})
		timing, scans := timed(t, 59950*time.Millisecond, daq.Line{Name: "a", Sources: []daq.Source{source("slow", 0, 100*time.Millisecond, slow)}})
		x := timing[0]
		assert.Equal(t, len(scans), x.Scans)
		// 50 rounds of ten asks take 1.2 s each: nine scans, one tick without an
		// answer and two passed by, of which the last two are not known yet.
		assert.Equal(t, 450, x.Scans)
		assert.Equal(t, 148, x.Missed)
		assert.Equal(t, 125*time.Millisecond, x.Latest)
	})
}

func TestTimingOfAStream(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		n := 0
		talker := instrument(func(ctx context.Context, dst []daq.Signal) error {
			n++
			pause := []time.Duration{90, 110}[n%2] * time.Millisecond // unsteady by ±10 ms
			if n == 50 {
				pause = 400 * time.Millisecond
			}
			select {
			case <-time.After(pause):
			case <-ctx.Done():
				return ctx.Err()
			}
			dst[0] = daq.Signal{Raw: 1}
			return nil
		})
		src := source("talker", 0, 100*time.Millisecond, talker)
		src.Streams = true
		timing, _ := timed(t, 20*time.Second, daq.Line{Name: "a", Sources: []daq.Source{src}})
		x := timing[0]
		assert.InDelta(t, 0.1, x.Mean, 1e-4)
		assert.InDelta(t, 0.01, x.Jitter, 1e-4)
		assert.Equal(t, 300*time.Millisecond, x.Latest)
		assert.Equal(t, 3, x.Missed)
	})
}

// Stamps of an instrument that go back, or stand still, are put in order and
// counted: what is recorded rises.
func TestStampsOfAnInstrumentNeverRunBackwards(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		src := source("odd", 0, 100*time.Millisecond, takes(0))
		stamps := []time.Duration{5, 3, 3, 200, 200, 150, 400}
		n := -1
		src.Stamp = func() time.Duration { n++; return stamps[n%len(stamps)] * time.Millisecond }
		timing, scans := timed(t, 650*time.Millisecond, daq.Line{Name: "a", Sources: []daq.Source{src}})
		require.Len(t, scans, 7)
		for i := 1; i < len(scans); i++ {
			assert.Greater(t, scans[i].At, scans[i-1].At)
		}
		assert.Equal(t, 4, timing[0].Backwards)
	})
}

func TestTimingShowsNoMoreDigitsThanCount(t *testing.T) {
	x := daq.Timing{Scans: 9, Mean: 1, Jitter: 0.203919, Latest: 1512345 * time.Microsecond}
	assert.Equal(t, "9 scans, mean interval 1000.000 ms, sd 204 ms, latest by 1512 ms, 0 missed", x.String())
	x.Jitter, x.Latest = 0.0041234, 41234*time.Nanosecond
	assert.Equal(t, "9 scans, mean interval 1000.000 ms, sd 4.12 ms, latest by 0.041 ms, 0 missed", x.String())
}
