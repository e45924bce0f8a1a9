//go:build linux || darwin

package main

import (
	"context"
	"io"
	"io/fs"
	"os/signal"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/procedure"
	"holdbench/daq/sequence"
	"holdbench/daq/simbench"
)

// An operator who presses Ctrl-C once more, or Ctrl-Z, does not end the program
// before it has switched the pump off: this test would die of it.
func TestNoSignalCutsOffLeaving(t *testing.T) {
	text, err := fs.ReadFile(simbench.CraneFiles(), "hold.toml")
	require.NoError(t, err)
	p, err := procedure.Parse("hold.toml", text)
	require.NoError(t, err)
	l := sequence.New(sequence.Config{Procedure: p, Clock: daq.NewWallClock()})
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	t.Cleanup(func() { signal.Reset(append(stops, syscall.SIGPIPE)...) })
	said, over := make(chan string, 8), make(chan struct{})
	press := func(sig syscall.Signal) { require.NoError(t, syscall.Kill(syscall.Getpid(), sig)) }
	onInterrupt(ctx, over, l, cancel, io.Discard, func(text string) { said <- text })
	press(syscall.SIGINT)
	require.Contains(t, <-said, "Ctrl-C again leaves")
	press(syscall.SIGTSTP)
	press(syscall.SIGINT)
	require.Contains(t, <-said, "Leaving")
	<-ctx.Done()
	time.Sleep(100 * time.Millisecond)
	press(syscall.SIGINT)
	time.Sleep(200 * time.Millisecond)
	close(over)
}
