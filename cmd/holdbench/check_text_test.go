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

// textBench has instruments that are asked, two on one line, and one that
// sends lines with a flag in them.
const textBench = `
name = "texts"
[[link]]
name = "bus"
port = "tcp://127.0.0.1:1"
timeout = "300 ms"
[[link]]
name = "stream"
port = "tcp://127.0.0.1:2"
[[instrument]]
name = "indicator"
kind = "text-asked"
link = "bus"
prefix = ">01 "
query = "#01 MEAS?"
identify = "#01 *IDN?"
setup = ["#01 UNIT BAR"]
interval = "0.2 s"
[[instrument]]
name = "meter"
kind = "text-asked"
link = "bus"
prefix = ">02 "
query = "#02 MEAS?"
identify = ""
interval = "0.2 s"
[[instrument]]
name = "panel"
kind = "text-stream"
link = "stream"
separator = ";"
interval = "0.1 s"
[[channel]]
name = "p"
quantity = "pressure"
instrument = "indicator"
raw_unit = "bar"
reference = "gauge"
range = ["0 bar", "250 bar"]
[[channel]]
name = "t"
quantity = "temperature"
instrument = "meter"
raw_unit = "°C"
[[channel]]
name = "warning"
quantity = "state"
instrument = "panel"
column = 2
on = "LOW"
off = "GOOD"
[[channel]]
name = "room"
quantity = "temperature"
instrument = "panel"
column = 1
raw_unit = "°C"
[[position]]
name = "1"
[[position.circuit]]
name = "a"
trapped = "p"
feed = "unmeasured"
temperature = "t"
warning_switch = "warning"
`

func TestCheckOfInstrumentsThatSpeakText(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.toml")
	require.NoError(t, os.WriteFile(path, []byte(textBench), 0o666))
	b, err := bench.Load(path)
	require.NoError(t, err)
	rig, err := simbench.New(b, daq.NewWallClock(), 1)
	require.NoError(t, err)
	served, err := rig.Serve(t.Context(), simbench.ServeOptions{TCP: true})
	require.NoError(t, err)
	defer func() { assert.NoError(t, served.Close()) }()
	var out strings.Builder
	code := 0
	root := newRoot(&code)
	root.SetOut(&out)
	root.SetErr(&out)
	root.SetArgs([]string{"check", "--bench", path, "--seconds", "1.5",
		"--port", "bus=" + served.Ports["bus"], "--port", "stream=" + served.Ports["stream"]})
	require.NoError(t, root.Execute())
	screen := out.String()
	assert.Zero(t, code, screen)
	assert.Contains(t, screen, `instrument indicator: sends on opening: "#01 UNIT BAR", "#01 *IDN?"`)
	assert.NotContains(t, screen, "instrument meter: sends on opening")
	assert.Regexp(t, `(?m)^indicator +bus +200ms `, screen)
	assert.Contains(t, screen, "\ninstrument indicator says that it is: holdbench,simulated indicator,1,0\n")
	for _, channel := range []string{"p", "t", "warning", "room"} {
		assert.Regexp(t, `(?m)^`+channel+` .* ok$`, screen)
	}
}
