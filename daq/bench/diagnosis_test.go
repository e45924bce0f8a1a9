package bench_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/daqtest"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

const faultBench = `
name = "Faults"
[[link]]
name = "rs485"
port = "/dev/ttyUSB0"
baud = 19200
parity = "even"
timeout = "100 ms"
[[link]]
name = "text"
port = "/dev/ttyUSB1"
baud = 9600
timeout = "500 ms"
[[instrument]]
name = "module"
kind = "modbus-rtu"
link = "rs485"
address = 1
interval = "0.1 s"
[[instrument]]
name = "pump"
kind = "modbus-rtu"
link = "rs485"
address = 2
interval = "0.1 s"
[[instrument]]
name = "probe"
kind = "text-stream"
link = "text"
separator = ";"
interval = "0.5 s"
[[channel]]
name = "trapped_a"
quantity = "pressure"
instrument = "module"
function = 4
register = 0
type = "int16"
raw_scale = 0.001
raw_unit = "mA"
scaling = [["4 mA", "0 bar"], ["20 mA", "250 bar"]]
reference = "gauge"
range = ["0 bar", "250 bar"]
[[channel]]
name = "feed"
quantity = "pressure"
instrument = "module"
function = 4
register = 1
type = "int16"
raw_scale = 0.001
raw_unit = "mA"
scaling = [["4 mA", "0 bar"], ["20 mA", "250 bar"]]
reference = "gauge"
range = ["0 bar", "250 bar"]
[[channel]]
name = "supply"
quantity = "pressure"
instrument = "pump"
function = 3
register = 0
type = "int16"
raw_unit = "bar"
reference = "gauge"
range = ["0 bar", "400 bar"]
[[channel]]
name = "junction"
quantity = "temperature"
instrument = "pump"
function = 3
register = 1
type = "int16"
raw_scale = 0.01
raw_unit = "mV"
thermocouple = "K"
cold_junction = "terminals"
[[channel]]
name = "terminals"
quantity = "temperature"
instrument = "pump"
function = 3
register = 2
type = "uint16"
raw_scale = 0.01
raw_unit = "Ω"
rtd = "Pt100"
[[channel]]
name = "body"
quantity = "temperature"
instrument = "probe"
column = 1
raw_unit = "°C"
range = ["-20 °C", "120 °C"]
[[channel]]
name = "room"
quantity = "temperature"
instrument = "probe"
column = 2
raw_unit = "°C"
`

// rs485 is the far end of the Modbus line of faultBench.
type rs485 struct {
	cable  *daqtest.Cable
	slaves []daqtest.Slave
	// spoil changes what goes back, given how many answers went before.
	spoil func(nth int, request, answer []byte) []byte
	nth   int
}

func newRS485() *rs485 {
	r := &rs485{cable: &daqtest.Cable{}, slaves: []daqtest.Slave{
		{Address: 1, Registers: map[uint16]uint16{0: 12000, 1: 4100}},
		{Address: 2, Registers: map[uint16]uint16{0: 210, 1: 0, 2: 10859}},
	}}
	r.cable.Heard = r.heard
	return r
}

func (r *rs485) heard(request []byte) {
	for _, s := range r.slaves {
		answer := s.Answer(request)
		if r.spoil != nil {
			answer = r.spoil(r.nth, request, answer)
		}
		if answer != nil {
			r.nth++
			r.cable.SendAfter(5*time.Millisecond, answer)
		}
	}
}

// text is the far end of the line of text.
type text struct {
	cable *daqtest.Cable
	line  []byte // empty: says nothing
}

func (x *text) run(t *testing.T) {
	go func() {
		for {
			select {
			case <-t.Context().Done():
				return
			case <-time.After(500 * time.Millisecond):
				if len(x.line) > 0 {
					x.cable.Send(x.line)
				}
			}
		}
	}()
}

func TestFirstFindingNamesTheRightThing(t *testing.T) {
	garbage := []byte{0xf8, 0x80, 0xe6, 0x06, 0x98, 0xfe, 0x1e, 0x78}
	for _, c := range []struct {
		name string
		do   func(line *rs485, probe *text)
		look string // regular expression of the first finding's Look; empty: nothing is wrong
	}{
		{"a sound bench", func(*rs485, *text) {}, ""},
		{"USB plug of the Modbus line out", func(line *rs485, _ *text) { line.cable.Pull() },
			`^the USB plug of link rs485 \(/dev/ttyUSB0\)`},
		{"Modbus line cut at the adapter", func(line *rs485, _ *text) { line.slaves = nil },
			`^link rs485: A and B at the adapter's terminals`},
		{"one of two without power", func(line *rs485, _ *text) { line.slaves = line.slaves[:1] },
			`^instrument pump \(address 2\) on link rs485: its power, its own A and B`},
		{"the other of two without power", func(line *rs485, _ *text) { line.slaves = line.slaves[1:] },
			`^instrument module \(address 1\) on link rs485: its power, its own A and B`},
		{"wrong baud, seen as garbage", func(line *rs485, _ *text) {
			line.spoil = func(int, []byte, []byte) []byte { return garbage }
		}, `^link rs485: baud, parity and stop bits \(19200 8E1 in the bench file\)`},
		{"one of two garbled", func(line *rs485, _ *text) {
			line.spoil = func(_ int, request, answer []byte) []byte {
				if answer != nil && request[0] == 2 {
					return garbage
				}
				return answer
			}
		}, `^instrument pump \(address 2\) on link rs485: its own baud and parity`},
		{"another address", func(line *rs485, _ *text) {
			line.spoil = func(_ int, request, answer []byte) []byte {
				if answer == nil || request[0] != 2 {
					return answer
				}
				r := modbus.Request{Address: 3, Function: 3, Count: 2}
				return r.Reply([]uint16{7, 7})
			}
		}, `^instrument pump \(address 2\) on link rs485: its address`},
		{"the adapter hears itself, nobody else", func(line *rs485, _ *text) {
			line.slaves = nil
			line.cable.Heard = line.cable.Send
		}, `^link rs485: its A and B wires beyond the adapter`},
		{"echo, and all is well", func(line *rs485, _ *text) {
			line.cable.Heard = func(b []byte) {
				line.cable.Send(b)
				line.heard(b)
			}
		}, ""},
		{"two masters", func(line *rs485, _ *text) {
			other := modbus.Request{Address: 1, Function: 4, Start: 8, Count: 2}.Frame()
			line.spoil = func(nth int, _, answer []byte) []byte {
				if answer != nil && nth%4 == 3 {
					return bytes.Join([][]byte{other, answer[:3]}, nil)
				}
				return answer
			}
		}, `^link rs485: a second master`},
		{"noise on the whole line", func(line *rs485, _ *text) {
			line.spoil = func(nth int, _, answer []byte) []byte {
				if answer != nil && nth%5 >= 3 {
					answer[len(answer)-1] ^= 4
				}
				return answer
			}
		}, `^link rs485: termination \(120 Ω at both ends`},
		{"noise on one stretch", func(line *rs485, _ *text) {
			line.spoil = func(nth int, request, answer []byte) []byte {
				if answer != nil && nth%5 == 3 && request[0] == 2 {
					answer[len(answer)-1] ^= 4
				}
				return answer
			}
		}, `^instrument pump \(address 2\) on link rs485: its own stretch`},
		{"loose contact of one", func(line *rs485, _ *text) {
			line.spoil = func(nth int, request, answer []byte) []byte {
				if answer != nil && request[0] == 1 {
					line.nth++
					if nth%5 == 3 {
						return nil
					}
				}
				return answer
			}
		}, `^instrument module \(address 1\) on link rs485: a loose terminal`},
		{"register that is not there", func(line *rs485, _ *text) { delete(line.slaves[1].Registers, 0) },
			`^the bench file: register and function of pump's channels`},
		{"loop of trapped_a open", func(line *rs485, _ *text) { line.slaves[0].Registers[0] = 0 },
			`^channel trapped_a: its loop is open: look at its plus and minus terminals`},
		{"all loops open", func(line *rs485, _ *text) {
			line.slaves[0].Registers[0], line.slaves[0].Registers[1] = 0, 12
		}, `^instrument module: the supply of its current loops`},
		{"loop shorted", func(line *rs485, _ *text) { line.slaves[0].Registers[0] = 24000 },
			`^channel trapped_a: its loop carries too much: a short`},
		{"transducer at its lower failure current", func(line *rs485, _ *text) { line.slaves[0].Registers[1] = 3500 },
			`^channel feed: its loop carries less than 3.8 mA`},
		{"pressure beyond the range", func(line *rs485, _ *text) { line.slaves[0].Registers[0] = 20700 },
			`^channel trapped_a: its loop carries more than 20.5 mA`},
		{"value beyond the range", func(line *rs485, _ *text) { line.slaves[1].Registers[0] = 900 },
			`^channel supply: it reads above its range`},
		{"thermocouple open", func(line *rs485, _ *text) { line.slaves[1].Registers[1] = 0x7fff },
			`^channel junction: its thermocouple`},
		{"cold junction open, which another channel needs", func(line *rs485, _ *text) { line.slaves[1].Registers[2] = 0xffff },
			`^channel terminals: its resistance thermometer is open`},
		{"text silent", func(_ *rs485, probe *text) { probe.line = nil },
			`^instrument probe on link text: its power and plug`},
		{"text garbled by the baud", func(_ *rs485, probe *text) { probe.line = bytes.Repeat(garbage, 4) },
			`^link text: baud, parity and stop bits \(9600 8N1 in the bench file\)`},
		{"text with another separator", func(_ *rs485, probe *text) { probe.line = []byte("21.5,22.5\r\n") },
			`^the bench file: separator and columns of instrument probe`},
		{"overload of the thermometer", func(_ *rs485, probe *text) { probe.line = []byte("OL;22.5\r\n") },
			`^channel body: it reads above its range`},
		{"unplugged before one that is mute", func(line *rs485, probe *text) {
			line.slaves = line.slaves[:1]
			probe.cable.Pull()
		}, `^the USB plug of link text`},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				b, err := bench.Parse("bench.toml", []byte(faultBench))
				require.NoError(t, err)
				line, probe := newRS485(), &text{cable: &daqtest.Cable{}, line: []byte("21.5;22.5\r\n")}
				c.do(line, probe)
				probe.run(t)
				var ear discovery.Ear
				clock := daq.NewWallClock()
				w, err := b.Wire(clock, bench.WireOptions{Partial: true, Trace: ear.Hear,
					Dial: func(name string) (link.Conn, error) {
						if name == "text" {
							return probe.cable.Dial()
						}
						return line.cable.Dial()
					}})
				require.NoError(t, err)
				probes, err := w.Probe(t.Context(), clock, 10*time.Second)
				require.NoError(t, err)
				require.NoError(t, w.Close())
				found := b.Diagnose(w, probes, ear.Line)
				if c.look == "" {
					assert.Empty(t, found)
					return
				}
				require.NotEmpty(t, found)
				assert.Regexp(t, c.look, found[0].Look)
				assert.NotEmpty(t, found[0].What)
				for i, f := range found {
					t.Log(fmt.Sprint(i), f.Look, "|", f.What)
				}
			})
		})
	}
}

// The wrong meter is named plainly, and nothing is read of it.
func TestInstrumentThatIsNotTheOneMeantIsNamed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		asked := strings.Replace(faultBench, "kind = \"text-stream\"", "kind = \"text-asked\"\nquery = \"MEAS?\"\nidentity = \"TX-2,0042\"", 1)
		b, err := bench.Parse("bench.toml", []byte(asked))
		require.NoError(t, err)
		line, meter := newRS485(), &daqtest.Cable{}
		meter.Heard = func(query []byte) {
			switch strings.TrimSpace(string(query)) {
			case "*IDN?":
				meter.SendAfter(5*time.Millisecond, []byte("Example,TX-2,0043,1.3\n"))
			case "MEAS?":
				meter.SendAfter(5*time.Millisecond, []byte("21.5;22.5\n"))
			}
		}
		var ear discovery.Ear
		clock := daq.NewWallClock()
		w, err := b.Wire(clock, bench.WireOptions{Trace: ear.Hear, Dial: func(name string) (link.Conn, error) {
			if name == "text" {
				return meter.Dial()
			}
			return line.cable.Dial()
		}})
		require.NoError(t, err)
		probes, err := w.Probe(t.Context(), clock, 10*time.Second)
		require.NoError(t, err)
		require.NoError(t, w.Close())
		found := b.Diagnose(w, probes, ear.Line)
		require.Len(t, found, 1)
		assert.Equal(t, "instrument probe on link text: which instrument is plugged in there: not the one that is meant", found[0].Look)
		assert.Contains(t, found[0].What, `another instrument answers: "Example,TX-2,0043,1.3", where one with "TX-2,0042" is meant`)
		assert.Contains(t, found[0].Mend, "plug in the instrument that belongs there")
		for _, p := range probes {
			if p.Instrument == "probe" {
				assert.Empty(t, p.Scans)
			}
		}
	})
}
