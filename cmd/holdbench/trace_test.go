package main

import (
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/simbench"
)

// checkTraced runs check on the crane's bench, simulated, with a byte trace.
func checkTraced(t *testing.T, trace string) (screen string, code int) {
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
	var out strings.Builder
	root := newRoot(&code)
	root.SetOut(&out)
	root.SetErr(&out)
	root.SetArgs([]string{"check", "--bench", path, "--seconds", "2", "--trace", trace,
		"--port", "rs485=" + served.Ports["rs485"], "--port", "thermometer=" + served.Ports["thermometer"]})
	require.NoError(t, root.Execute())
	return out.String(), code
}

func TestTraceKeepsWhatWentAndCameAndWhatWasMadeOfIt(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "bytes.trace")
	screen, code := checkTraced(t, file)
	require.Zero(t, code, screen)
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	for _, want := range []string{
		`\A` + `holdbench byte trace 1\nstarted\t\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z\ntime \[s\]\tlink\twhat\tbytes or verdict\tas text\n`,
		`\n\d+\.\d{6}\trs485\tsent\t01 03 00 0a 00 02 e4 09\t\.{8}\n`,
		`\n\d+\.\d{6}\trs485\tcame\t01 04 02 `,
		`\n\d+\.\d{6}\trs485\tjudged\tanswer\n`,
		`\n\d+\.\d{6}\tthermometer\tcame\t[0-9a-f ]* 0d 0a\t[0-9.]+;[0-9.]+\.\.\n`,
		`\n\d+\.\d{6}\tthermometer\tjudged\tline\n`,
		`\n\d+\.\d{6}\trs485\tport\topened tcp://`,
	} {
		assert.Regexp(t, regexp.MustCompile(want), string(text))
	}
}

func TestFullDiskEndsTheTraceNotTheCommand(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("/dev/full is Linux's; the test runs there")
	}
	t.Parallel()
	screen, code := checkTraced(t, "/dev/full")
	assert.Zero(t, code, screen)
	const said = "trace: write /dev/full: no space left on device; the trace ends here, everything else goes on\n"
	assert.Equal(t, 1, strings.Count(screen, said), screen)
	assert.Regexp(t, `trapped_a .* ok\n`, screen)
}
