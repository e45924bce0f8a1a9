package daq_test

import (
	"context"
	"fmt"
	"runtime"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
)

// crowd is 32 instruments of four channels each, on eight lines, asked 50 times
// a second, each exchange taking a while.
func crowd(exchange time.Duration) []daq.Line {
	var lines []daq.Line
	for l := range 8 {
		line := daq.Line{Name: fmt.Sprint("line ", l)}
		for i := range 4 {
			n := 4*l + i
			line.Sources = append(line.Sources, daq.Source{
				Name: fmt.Sprint("instrument ", n), Channels: []int{4 * n, 4*n + 1, 4*n + 2, 4*n + 3}, Interval: 20 * time.Millisecond,
				Instrument: instrument(func(_ context.Context, dst []daq.Signal) error {
					time.Sleep(exchange)
					for k := range dst {
						dst[k] = daq.Signal{Raw: 1}
					}
					return nil
				}),
				Convert: asSent,
			})
		}
		lines = append(lines, line)
	}
	return lines
}

// 32 instruments on eight lines are asked 50 times a second for a minute, and no
// scan is missed or late by more than a period.
func TestCrowdOfInstrumentsIsReadInTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const span = time.Minute
		timing, scans := timed(t, span-time.Millisecond, crowd(3*time.Millisecond)...)
		require.Len(t, timing, 32)
		for _, x := range timing {
			assert.Equal(t, int(span/(20*time.Millisecond)), x.Scans, x.Instrument)
			assert.Zero(t, x.Missed, x.Instrument)
			assert.Less(t, x.Latest, 20*time.Millisecond, x.Instrument)
		}
		assert.Len(t, scans, 32*50*60)
	})
}

// BenchmarkScan is what a scan of four channels costs the scanner, from asking
// to the subscriber.
func BenchmarkScan(b *testing.B) {
	b.ReportAllocs()
	for _, src := range []int{1, 4} {
		b.Run(fmt.Sprint(src, " instruments on a line"), func(b *testing.B) {
			b.ReportAllocs()
			line := crowd(0)[0]
			line.Sources = line.Sources[:src]
			for i := range line.Sources {
				line.Sources[i].Interval = time.Nanosecond
				line.Sources[i].Instrument = instrument(func(context.Context, []daq.Signal) error { return nil })
			}
			s := daq.NewScanner(daq.NewWallClock(), []daq.Line{line})
			ctx, stop := context.WithCancel(b.Context())
			defer stop()
			n := 0
			s.Subscribe(func(daq.Scan) error {
				if n++; n == b.N {
					stop()
				}
				return nil
			})
			runtime.GC()
			b.ResetTimer()
			require.NoError(b, s.Run(ctx))
		})
	}
}
