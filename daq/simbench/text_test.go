package simbench_test

import (
	"fmt"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/simbench"
)

const textBench = `
name = "texts"
[[link]]
name = "line"
port = "COM3"
baud = 19200
timeout = "300 ms"
[[instrument]]
name = "text"
link = "line"
interval = "20 ms"
%s
[[channel]]
name = "p"
quantity = "pressure"
instrument = "text"
raw_unit = "bar"
reference = "gauge"
range = ["0 bar", "250 bar"]
resolution = "0.01 bar"
%s
[[channel]]
name = "t"
quantity = "temperature"
instrument = "text"
raw_unit = "°C"
resolution = "0.1 K"
%s
[[position]]
name = "1"
[[position.circuit]]
name = "a"
trapped = "p"
feed = "unmeasured"
temperature = "t"
`

// Every way of writing lines is simulated as the program reads it, over real
// sockets or terminals.
func TestSimulatedTextsAreReadInEveryForm(t *testing.T) {
	const stream, asked = "kind = \"text-stream\"\n", "kind = \"text-asked\"\n"
	for name, c := range map[string]struct{ instrument, p, t, identity string }{
		"columns":                {stream + `separator = " | "`, "column = 2", "column = 5", ""},
		"units beside":           {stream + "separator = \"tab\"\ncomment = \"#\"", "column = 1\nunit_column = 2\nunit_text = \"BARG\"", "column = 3\nunit_column = 4", ""},
		"fixed places and XOR":   {stream + "prefix = \"<STX>\"\nterminator = \"CRLF\"\nchecksum = \"xor\"\nchecksum_after = \"<ETX>\"\nchecksum_over = \"text and delimiter\"\nline_length = 30", "characters = [1, 9]\ndecimals = 3", "characters = [10, 16]", ""},
		"names and a CRC":        {stream + "separator = \";\"\nprefix = \"$\"\nchecksum = \"crc16-modbus\"\nchecksum_after = \"*\"\nchecksum_order = \"low-first\"", `field = "P1"`, `field = "T"`, ""},
		"patterns":               {stream + `separator = ","`, `pattern = '(?i)p\s*=\s*([-+.\d]+)\s*bar'`, `pattern = 'T[12]:([-+.\d]+)'`, ""},
		"ETX, then a byte":       {stream + "separator = \",\"\nprefix = \"<STX>\"\nterminator = \"ETX\"\nchecksum = \"sum\"\nchecksum_form = \"bytes\"\nchecksum_after = \"<ETX>\"", "column = 1", "column = 2", ""},
		"a byte before the end":  {stream + "separator = \",\"\nterminator = \"CR\"\nchecksum = \"crc16-xmodem\"\nchecksum_form = \"bytes\"", "column = 1", "column = 2", ""},
		"sum in digits":          {stream + "separator = \";\"\nchecksum = \"sum\"\nchecksum_form = \"decimal\"\nchecksum_after = \";\"", "column = 1", "column = 2", ""},
		"asked":                  {asked + "query = \"MEAS?\"\nseparator = \",\"\nsetup = [\"*CLS\"]", "column = 1", "column = 2", "holdbench,simulated text,1,0"},
		"asked, this one only":   {asked + "query = \"MEAS?\"\nseparator = \",\"\nidentity = \"TX-2,0042\"", "column = 1", "column = 2", "holdbench,TX-2,0042,0"},
		"asked for each":         {asked + "terminator = \"CR\"\nidentify = \"WHO\"", `query = "P?"`, `query = "T?"`, "holdbench,simulated text,1,0"},
		"asked, address, no IDN": {asked + "prefix = \">01\"\nquery_terminator = \"CRLF\"\nidentify = \"\"", `query = "#01P"`, `query = "#01T"`, ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b, err := bench.Parse("bench.toml", fmt.Appendf(nil, textBench, c.instrument, c.p, c.t))
			require.NoError(t, err)
			clock := daq.NewWallClock()
			rig, err := simbench.New(b, clock, 1)
			require.NoError(t, err)
			rig.Pump(100e5, 0)
			served, err := rig.Serve(t.Context(), simbench.ServeOptions{TCP: true})
			require.NoError(t, err)
			defer func() { require.NoError(t, served.Close()) }()
			w, err := b.Wire(clock, bench.WireOptions{Ports: served.Ports})
			require.NoError(t, err)
			defer func() { require.NoError(t, w.Close()) }()
			probes, err := w.Probe(t.Context(), clock, 600*time.Millisecond)
			require.NoError(t, err)
			require.NoError(t, probes[0].Err)
			assert.Equal(t, c.identity, probes[0].Identity)
			assert.Greater(t, len(probes[0].Scans), 4)
			for _, s := range probes[0].Scans {
				assert.Equal(t, daq.Healthy, s.Readings[0].Health)
			}
			last := probes[0].Scans[len(probes[0].Scans)-1].Readings // the feed has reached the trapped side
			assert.InDelta(t, 100e5, last[0].Value, 5e4)
			assert.InDelta(t, 295.15, last[1].Value, 0.5)
		})
	}
}

func TestTextThatCannotBeSimulatedIsSaid(t *testing.T) {
	b, err := bench.Parse("bench.toml", fmt.Appendf(nil, textBench, "kind = \"text-stream\"\nline_length = 3", "characters = [1, 9]", "characters = [10, 16]"))
	require.NoError(t, err)
	_, err = simbench.New(b, daq.NewWallClock(), 1)
	require.Error(t, err)
	assert.Regexp(t, regexp.MustCompile(`instrument "text": it would send ".*", which does not fit what the bench file says of it: 16 characters, want 3`), err.Error())
}
