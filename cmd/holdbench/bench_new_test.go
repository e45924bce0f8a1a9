package main

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/simbench"
)

// watchedScreen keeps what is shown and does something once it shows a text.
type watchedScreen struct {
	mu    sync.Mutex
	text  strings.Builder
	waits string
	does  func()
}

func (s *watchedScreen) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.text.Write(b)
	if s.does != nil && strings.Contains(s.text.String(), s.waits) {
		s.does()
		s.does = nil
	}
	return len(b), nil
}

// The crane's module is pumped up while it is watched; what moved is found, the
// file is written, and it is the bench that it was made from.
func TestBenchNewFindsWhatWasPumpedUp(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, simbench.CraneFiles()))
	truth, err := bench.Load(filepath.Join(dir, "bench.toml"))
	require.NoError(t, err)
	rig, err := simbench.New(truth, daq.NewWallClock(), 1)
	require.NoError(t, err)
	served, err := rig.Serve(t.Context(), simbench.ServeOptions{TCP: true})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, served.Close()) })

	path := filepath.Join(dir, "new.toml")
	shown := &watchedScreen{waits: "Watching for", does: func() { rig.Pump(100e5, 4e9) }}
	code := 0
	root := newRoot(&code)
	root.SetOut(shown)
	root.SetErr(shown)
	root.SetIn(strings.NewReader(""))
	root.SetArgs([]string{"bench", "new", "--yes", "--port", served.Ports["rs485"], "--kind", "modbus-rtu", "--listen", "0", "--check", "1",
		"--address", "1", "--registers", "0-15", "--rate", "50", "--watch", "6", "--out", path,
		"--channel", "place=moved; name=feed; unit=bar; range=0..250 bar",
		"--channel", "place=input 0 int16; name=trapped_a; unit=0.001 mA; scaling=4..20 mA = 0..250 bar"})
	require.NoError(t, root.Execute(), shown.text.String())
	assert.Zero(t, code, shown.text.String())

	made, err := bench.Load(path)
	require.NoError(t, err)
	feed, _, ok := made.Channel("feed")
	require.True(t, ok)
	want, _, _ := truth.Channel("feed")
	assert.Equal(t, []any{want.Function, want.Register, want.Type, want.WordOrder},
		[]any{feed.Function, feed.Register, feed.Type, feed.WordOrder}, shown.text.String())
	assert.Regexp(t, `(?m)^  2  input 0 int16 +4\d{3}(\.\d+)? +10\d{3} +steadily`, shown.text.String(), "the trapped side moved too")
	assert.Regexp(t, `(?m)^trapped_a +(99|100)\.\d+ bar`, shown.text.String())
}
