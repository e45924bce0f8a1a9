//go:build linux || darwin

package daqtest_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// place is where a number stands in a server's registers, as a bench file says
// it, and the number. The servers wrote it there with functions of their own
// (C: libmodbus 3.1.6, pymodbus 3.0.0).
type place struct {
	keys string
	want float64
}

// places are what both servers hold, in holding and in input registers.
var places = map[string]place{
	"float32":         {"register = 0\ntype = \"float32\"\nword_order = \"high-first\"", float64(float32(123.456))},
	"float32_swapped": {"register = 2\ntype = \"float32\"\nword_order = \"low-first\"", -40.25},
	"int16_scaled":    {"register = 4\ntype = \"int16\"\nraw_scale = 0.01", -12.34},
}

// fileOf is a bench file with a channel for each place and function.
func fileOf(kind, port string, places map[string]place) (text string, want map[string]float64) {
	text = fmt.Sprintf(`
name = "independent servers"
[[link]]
name = "line"
port = %q
baud = 115200
timeout = "2 s"
[[instrument]]
name = "server"
kind = %q
link = "line"
address = 17
interval = "20 ms"
[[channel]]
name = "trapped"
quantity = "pressure"
instrument = "server"
raw_unit = "bar"
range = ["0 bar", "250 bar"]
reference = "gauge"
function = 4
register = 0
type = "float32"
word_order = "high-first"
[[position]]
name = "1"
[[position.circuit]]
name = "a"
trapped = "trapped"
feed = "unmeasured"
`, port, kind)
	want = map[string]float64{}
	for name, p := range places {
		for function := 3; function <= 4; function++ {
			if function == 4 && strings.Contains(p.keys, "register = 0\n") {
				continue // that is the trapped pressure
			}
			channel := fmt.Sprintf("%s_%d", name, function)
			text += fmt.Sprintf("[[channel]]\nname = %q\nquantity = \"voltage\"\ninstrument = \"server\"\nraw_unit = \"V\"\nfunction = %d\n%s\n",
				channel, function, p.keys)
			want[channel] = p.want
		}
	}
	want["trapped"] = 1e5 * float64(float32(123.456))
	return text, want
}

// polls reads a bench file's channels from a server that others wrote.
func polls(t *testing.T, text string, want map[string]float64) {
	b, err := bench.Parse("bench.toml", []byte(text))
	require.NoError(t, err)
	clock := daq.NewWallClock()
	w, err := b.Wire(clock, bench.WireOptions{})
	require.NoError(t, err)
	defer func() { require.NoError(t, w.Close()) }()
	probes, err := w.Probe(t.Context(), clock, time.Second)
	require.NoError(t, err)
	require.NoError(t, probes[0].Err)
	assert.Zero(t, probes[0].Failed)
	require.NotEmpty(t, probes[0].Scans)
	for _, scan := range probes[0].Scans {
		for _, r := range scan.Readings {
			name := w.Channels[r.Channel].Name
			require.Equal(t, daq.Healthy, r.Health, name)
			require.InEpsilon(t, want[name], r.Value, 1e-15, name)
		}
	}
	t.Logf("%d scans of %d channels", len(probes[0].Scans), len(want))
}

func TestLibmodbusIsRead(t *testing.T) {
	text, want := fileOf("modbus-rtu", libmodbus(t), places)
	polls(t, text, want)
}

func TestPymodbusIsRead(t *testing.T) {
	text, want := fileOf("modbus-rtu", pymodbus(t, false), places)
	polls(t, text, want)
}

// master opens a Modbus RTU line.
func master(t *testing.T, port string) *modbus.Client {
	p, err := link.Open(link.Config{Port: port, Baud: 115200, Timeout: 2 * time.Second}, link.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, p.Close()) })
	return modbus.NewClient(p, daq.NewWallClock())
}

// Exceptions of servers that others wrote come by name, and the next exchange
// is sound.
func TestIndependentServersRefuseByName(t *testing.T) {
	for name, serve := range map[string]func(testing.TB) string{
		"libmodbus": libmodbus, "pymodbus": func(t testing.TB) string { return pymodbus(t, false) },
	} {
		t.Run(name, func(t *testing.T) {
			c := master(t, serve(t))
			for range 3 {
				_, err := c.Read(t.Context(), modbus.Request{Address: 17, Function: modbus.ReadInput, Start: 500, Count: 2})
				require.ErrorIs(t, err, modbus.Exception(2))
				require.ErrorContains(t, err, "illegal data address")
				got, err := c.Read(t.Context(), modbus.Request{Address: 17, Function: modbus.ReadHolding, Start: 20, Count: 1})
				require.NoError(t, err)
				assert.Equal(t, []uint16{0xA5C3}, got)
			}
			_, err := c.Read(t.Context(), modbus.Request{Address: 17, Function: modbus.ReadHolding, Start: 0, Count: 125})
			require.NoError(t, err, "as many registers as a frame carries")
		})
	}
}
