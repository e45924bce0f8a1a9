//go:build linux || darwin

package daqtest_test

import (
	"fmt"
	"math"
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
	"uint16":          {"register = 6\ntype = \"uint16\"", 40000},
	"int32":           {"register = 8\ntype = \"int32\"\nword_order = \"high-first\"", -123456},
	"uint32":          {"register = 10\ntype = \"uint32\"\nword_order = \"high-first\"", 3e9},
	"float64":         {"register = 12\ntype = \"float64\"\nword_order = \"high-first\"", math.Pi},
	"bits":            {"register = 20\ntype = \"uint16\"\nbits = [4, 8]", 0x5C},
	"bytes_swapped":   {"register = 21\ntype = \"uint16\"\nbyte_order = \"low-first\"", 0x1234},
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
	for i := range 6 { // coils and discrete inputs
		for function := 1; function <= 2; function++ {
			channel := fmt.Sprintf("state_%d_%d", function, i)
			text += fmt.Sprintf("[[channel]]\nname = %q\nquantity = \"state\"\ninstrument = \"server\"\nfunction = %d\nregister = %d\ndebounce = \"0 ms\"\n",
				channel, function, i)
			if function == 1 && i%3 == 0 || function == 2 && i%5 == 1 {
				want[channel] = 1
			} else {
				want[channel] = 0
			}
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
			require.InDelta(t, want[name], r.Value, 1e-15*math.Abs(want[name]), name)
		}
	}
	t.Logf("%d scans of %d channels", len(probes[0].Scans), len(want))
}

func TestLibmodbusIsRead(t *testing.T) {
	text, want := fileOf("modbus-rtu", libmodbus(t), places)
	polls(t, text, want)
}

func TestPymodbusIsReadByTCP(t *testing.T) {
	text, want := fileOf("modbus-tcp", pymodbus(t, true), places)
	polls(t, text, want)
}

func TestPymodbusIsRead(t *testing.T) {
	text, want := fileOf("modbus-rtu", pymodbus(t, false), places)
	polls(t, text, want)
}

// master opens a line to slave 17.
func master(t *testing.T, port string) modbus.Master {
	p, err := link.Open(link.Config{Port: port, Baud: 115200, Timeout: 2 * time.Second}, link.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, p.Close()) })
	if strings.HasPrefix(port, "tcp://") {
		return modbus.NewTCPClient(p, daq.NewWallClock())
	}
	return modbus.NewClient(p, daq.NewWallClock())
}

// servers are those that others wrote.
var servers = map[string]func(testing.TB) string{
	"libmodbus":       libmodbus,
	"pymodbus":        func(t testing.TB) string { return pymodbus(t, false) },
	"pymodbus by TCP": func(t testing.TB) string { return pymodbus(t, true) },
}

// Exceptions of servers that others wrote come by name, and the next exchange
// is sound.
func TestIndependentServersRefuseByName(t *testing.T) {
	for name, serve := range servers {
		t.Run(name, func(t *testing.T) {
			m := master(t, serve(t))
			for range 3 {
				_, err := m.Do(t.Context(), modbus.Request{Address: 17, Function: modbus.ReadInput, Start: 500, Count: 2})
				require.ErrorIs(t, err, modbus.Exception(2))
				require.ErrorContains(t, err, "illegal data address")
				got, err := m.Do(t.Context(), modbus.Request{Address: 17, Function: modbus.ReadHolding, Start: 20, Count: 1})
				require.NoError(t, err)
				assert.Equal(t, []uint16{0xA5C3}, got.Values)
			}
			_, err := m.Do(t.Context(), modbus.Request{Address: 17, Function: modbus.ReadHolding, Start: 0, Count: 125})
			require.NoError(t, err, "as many registers as a frame carries")
			_, err = m.Do(t.Context(), modbus.Write(17, modbus.WriteRegister, 500, 1))
			require.ErrorIs(t, err, modbus.Exception(2))
			require.NotErrorIs(t, err, modbus.ErrUnknown, "a write that was refused")
		})
	}
}

// What is written by functions 5, 6, 15 and 16 stands in servers that others
// wrote, and nothing beside it.
func TestIndependentServersAreWritten(t *testing.T) {
	for name, serve := range servers {
		t.Run(name, func(t *testing.T) {
			m := master(t, serve(t))
			read := func(function byte, start, count uint16) []uint16 {
				got, err := m.Do(t.Context(), modbus.Request{Address: 17, Function: function, Start: start, Count: count})
				require.NoError(t, err)
				return got.Values
			}
			coils, registers := read(modbus.ReadCoils, 0, 24), read(modbus.ReadHolding, 0, 125)
			write := func(function byte, start uint16, values ...uint16) {
				_, err := m.Do(t.Context(), modbus.Write(17, function, start, values...))
				require.NoError(t, err)
				if function == modbus.WriteCoil || function == modbus.WriteCoils {
					copy(coils[start:], values)
				} else {
					copy(registers[start:], values)
				}
				require.Equal(t, coils, read(modbus.ReadCoils, 0, 24))
				require.Equal(t, registers, read(modbus.ReadHolding, 0, 125))
			}
			write(modbus.WriteCoil, 1, 1)
			write(modbus.WriteCoil, 1, 0)
			write(modbus.WriteCoil, 0, 0)
			write(modbus.WriteCoils, 3, 0, 1, 1, 0, 1, 0, 1, 1, 1, 0, 1)
			write(modbus.WriteRegister, 100, 0xFFFF)
			write(modbus.WriteRegister, 100, 0)
			write(modbus.WriteRegisters, 22, 1, 0x8000, 0x7FFF, 0)
			many := make([]uint16, 100)
			for i := range many {
				many[i] = uint16(i * 655)
			}
			write(modbus.WriteRegisters, 25, many...)
		})
	}
}
