//go:build linux || darwin

package daqtest_test

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/record"
)

// hurried is a wall clock on which everything takes a tenth of its time.
type hurried struct{ daq.Clock }

const hurry = 10

func (c hurried) Now() time.Duration { return hurry * c.Clock.Now() }

func (c hurried) Sleep(ctx context.Context, until time.Duration) error {
	for c.Now() < until { // dividing rounds down
		if err := c.Clock.Sleep(ctx, until/hurry+1); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// device is a Modbus slave behind a port's name that stays the same while the
// terminal behind it comes and goes. It counts its answers.
type device struct {
	t    *testing.T
	port string
	tty  *os.File
	n    atomic.Int64
}

func (d *device) plug() {
	path, tty := daqtest.PTY(d.t)
	require.NoError(d.t, os.Symlink(path, d.port))
	d.tty = tty
	go func() {
		request := make([]byte, 64)
		for {
			n, err := tty.Read(request)
			switch {
			case errors.Is(err, os.ErrClosed):
				return
			case err != nil: // nobody has opened it
				time.Sleep(time.Millisecond)
				continue
			}
			if answer := slaveAt(int(d.n.Load())).Answer(request[:n]); answer != nil {
				d.n.Add(1)
				if _, err := tty.Write(answer); err != nil {
					return
				}
			}
		}
	}()
}

func (d *device) pull() {
	require.NoError(d.t, os.Remove(d.port))
	require.NoError(d.t, d.tty.Close())
}

// From the terminal to the disk: the port vanishes for ten seconds of a hold.
// What stands in the recording was said, the hole is a gap, and it goes on.
func TestPortVanishesInMidHold(t *testing.T) {
	d := &device{t: t, port: filepath.Join(t.TempDir(), "ttyUSB0")}
	d.plug()
	s := subjects[0]
	s.port = d.port
	b, err := bench.Parse("bench.toml", []byte(tomlOf(s)))
	require.NoError(t, err)
	clock := hurried{daq.NewWallClock()}
	w, err := b.Wire(clock, bench.WireOptions{})
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "run")
	recording, err := record.Create(dir, record.Meta{RunID: "vanish", ClockKind: clock.Kind(), Started: clock.Date(0), Channels: w.Channels})
	require.NoError(t, err)
	require.NoError(t, recording.Event(daq.Event{Kind: daq.PhaseBegins, Circuit: "a", Subject: "hold"}))

	scanner := daq.NewScanner(clock, w.Lines)
	scanner.Subscribe(recording.Scan)
	scanner.OnEvent(func(e daq.Event) { assert.NoError(t, recording.Event(e)) })
	ctx, stop := context.WithCancel(t.Context())
	over := make(chan error, 1)
	go func() { over <- scanner.Run(ctx) }()
	const pulled, plugged, end = 5 * time.Second, 15 * time.Second, 30 * time.Second
	require.NoError(t, clock.Sleep(ctx, pulled))
	d.pull()
	require.NoError(t, clock.Sleep(ctx, plugged))
	before := int(d.n.Load())
	d.plug()
	require.NoError(t, clock.Sleep(ctx, end))
	stop()
	require.NoError(t, <-over)
	require.NoError(t, w.Close())
	require.NoError(t, recording.Close())

	r, err := record.Open(dir)
	require.NoError(t, err)
	assert.Equal(t, record.StateClosed, r.State)
	assert.Empty(t, r.Findings)
	pressure, ok := r.Series().Column("trapped_a")
	require.True(t, ok)
	said, hole := 0, 0.0
	for i, p := range pressure.Value {
		n := int(math.Round(p / 1e5 * 16))
		require.InDelta(t, 1e5*pressureOf(n), p, 1e-9, "a pressure that was never said")
		require.GreaterOrEqual(t, n, said, "in their order")
		said = n + 1
		if i > 0 && pressure.Time[i]-pressure.Time[i-1] > hole {
			hole = pressure.Time[i] - pressure.Time[i-1]
		}
	}
	assert.GreaterOrEqual(t, hole, (plugged - pulled).Seconds())
	assert.Greater(t, len(pressure.Value), before+30, "it goes on after the hole")

	var gaps []daq.Event
	for _, e := range r.Events {
		if e.Kind == daq.Gap && e.Until-e.At > 5*time.Second {
			gaps = append(gaps, e)
		}
	}
	require.Len(t, gaps, 1)
	assert.Equal(t, "device", gaps[0].Subject)
	assert.InDelta(t, pulled.Seconds(), gaps[0].At.Seconds(), 1.5)
	assert.Greater(t, gaps[0].Until, plugged)
}

// A second program on the same port is turned away, and the first one reads on.
func TestSecondProgramOnAPortIsTurnedAway(t *testing.T) {
	d := &device{t: t, port: filepath.Join(t.TempDir(), "ttyUSB0")}
	d.plug()
	s := subjects[0]
	s.port = d.port
	b, err := bench.Parse("bench.toml", []byte(tomlOf(s)))
	require.NoError(t, err)
	clock := daq.NewWallClock()
	w, err := b.Wire(clock, bench.WireOptions{})
	require.NoError(t, err)
	for range 3 {
		_, err = b.Wire(clock, bench.WireOptions{})
		require.ErrorIs(t, err, link.ErrBusy)
	}
	probes, err := w.Probe(t.Context(), clock, 500*time.Millisecond)
	require.NoError(t, err)
	assert.Zero(t, probes[0].Failed)
	assert.NotEmpty(t, probes[0].Scans)
	require.NoError(t, w.Close())
	again, err := b.Wire(clock, bench.WireOptions{})
	require.NoError(t, err, "the port is free again")
	require.NoError(t, again.Close())
}
