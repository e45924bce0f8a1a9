package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/simbench"
)

// checked runs check on the crane's bench file, changed as told, against the
// simulated instruments of the unchanged one, and returns screen and code.
func checked(t *testing.T, old, new string) (screen string, code int) {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, simbench.CraneFiles()))
	path := filepath.Join(dir, "bench.toml")
	b, err := bench.Load(path)
	require.NoError(t, err)
	rig, err := simbench.New(b, daq.NewWallClock(), 1)
	require.NoError(t, err)
	served, err := rig.Serve(t.Context(), simbench.ServeOptions{TCP: true})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, served.Close()) })
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Contains(t, string(text), old)
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(text), old, new, 1)), 0o666))

	var out strings.Builder
	root := newRoot(&code)
	root.SetOut(&out)
	root.SetErr(&out)
	root.SetArgs([]string{"check", "--bench", path, "--seconds", "4.5",
		"--port", "rs485=" + served.Ports["rs485"], "--port", "thermometer=" + served.Ports["thermometer"]})
	require.NoError(t, root.Execute())
	return out.String(), code
}

func TestCheckReadsEveryChannelOfASoundBench(t *testing.T) {
	screen, code := checked(t, "address = 1", "address = 1")
	assert.Zero(t, code, screen)
	for _, channel := range []string{"trapped_a", "feed", "body", "room"} {
		assert.Regexp(t, channel+` +-?[0-9.]+ (bar|°C) +[0-9.]+ (bar|°C) +[0-9.]+ /s +ok\n`, screen)
	}
}

func TestCheckSaysWhatIsWrongAndHowToMendIt(t *testing.T) {
	for _, c := range []struct{ name, old, new, says, first string }{
		{"wrong address", "address = 1", "address = 9", "no answer at all", `instrument module \(address 9\) on link rs485: .* its address`},
		{"wrong register", "register = 10", "register = 100", "to mend it: the instrument has no such register", "the bench file: register and function of module's channels"},
		{"wrong separator", `separator = ";"`, `separator = "tab"`, "no line that makes sense", "the bench file: separator and columns of instrument probe"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			screen, code := checked(t, c.old, c.new)
			assert.Equal(t, exitBadInput, code)
			assert.Contains(t, screen, c.says)
			assert.Regexp(t, "(?m)^LOOK FIRST: "+c.first, screen)
		})
	}
}
