package simbench

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
)

// sensors is a bench with a sensor of every kind.
const everySensor = `
name = "sensors"
[ambient]
temperature_channel = "room"
[[link]]
name = "bus"
port = "COM3"
baud = 19200
[[instrument]]
name = "module"
kind = "modbus-rtu"
link = "bus"
address = 1
interval = "0.1 s"
[[channel]]
name = "trapped"
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
name = "bridge"
quantity = "pressure"
instrument = "module"
function = 4
register = 1
type = "int16"
raw_unit = "mV"
table = [["-0.1 mV/V", "-21 bar"], ["1 mV/V", "199.8 bar"], ["2 mV/V", "400 bar"]]
excitation = "supply"
reference = "gauge"
[[channel]]
name = "curve"
quantity = "pressure"
instrument = "module"
function = 4
register = 2
type = "int16"
raw_unit = "V"
polynomial = [-62, 62, 0.1]
value_unit = "bar"
raw_range = ["0.9 V", "5.2 V"]
range = ["0 bar", "250 bar"]
reference = "absolute"
[[channel]]
name = "supply"
quantity = "voltage"
instrument = "module"
function = 4
register = 3
type = "int16"
raw_unit = "V"
range = ["9 V", "11 V"]
[[channel]]
name = "body"
quantity = "temperature"
instrument = "module"
function = 4
register = 4
type = "int16"
raw_unit = "mV"
thermocouple = "K"
cold_junction = "room"
range = ["-20 °C", "120 °C"]
resolution = "0.1 K"
[[channel]]
name = "room"
quantity = "temperature"
instrument = "module"
function = 4
register = 5
type = "int16"
raw_unit = "Ω"
rtd = "Pt100"
range = ["-20 °C", "120 °C"]
[[channel]]
name = "oil"
quantity = "temperature"
instrument = "module"
function = 4
register = 6
type = "int16"
raw_unit = "mV"
rtd = "Pt1000"
excitation = "0.1 ± 0.0001 mA"
[[position]]
name = "1"
[[position.circuit]]
name = "a"
trapped = "trapped"
feed = "bridge"
temperature = "body"
[[position.circuit]]
name = "b"
trapped = "curve"
feed = "unmeasured"
temperature = "oil"
`

func sensing(t *testing.T) (*Rig, *hands, func() map[string]daq.Reading) {
	b, err := bench.Parse("sensors.toml", []byte(everySensor))
	require.NoError(t, err)
	clock := &hands{}
	r, err := New(b, clock, 1)
	require.NoError(t, err)
	convert, err := b.Converter()
	require.NoError(t, err)
	return r, clock, func() map[string]daq.Reading {
		which := convert.Channels("module")
		dst, src := make([]daq.Reading, len(which)), make([]daq.Signal, len(which))
		for k, x := range r.read(which) {
			src[k].Raw = x
		}
		convert.Convert("module", clock.Now(), dst, src)
		out := map[string]daq.Reading{}
		for k, i := range which {
			out[b.Channels[i].Name] = dst[k]
		}
		return out
	}
}

// What every kind of sensor sees on the simulated bench comes out of the
// program's conversion again.
func TestSensorsOfEveryKindAreSimulated(t *testing.T) {
	r, clock, read := sensing(t)
	do(t, r, "pump 100 bar")
	clock.at += 2 * pumpTime
	got, truth := read(), r.States()
	for name, r := range got {
		require.Equal(t, daq.Healthy, r.Health, name)
	}
	assert.InDelta(t, truth[0].Trapped, got["trapped"].Value, 6000)
	assert.InDelta(t, truth[0].Feed, got["bridge"].Value, 6000)
	assert.InDelta(t, truth[1].Trapped, got["curve"].Value, 6000)
	assert.InEpsilon(t, 10, got["supply"].Value, 1e-4)
	assert.InDelta(t, truth[0].Probe, got["body"].Value, 0.08, "its step is 0.1 K")
	assert.InDelta(t, truth[0].Room, got["room"].Value, 0.03)
	assert.InDelta(t, truth[1].Probe, got["oil"].Value, 0.03)
}

func TestWhatIsBrokenShowsAsItWouldOnARealBench(t *testing.T) {
	for _, e := range []struct {
		command, channel string
		want             daq.Health
	}{
		{"break trapped wire", "trapped", daq.BrokenWire}, {"break trapped short", "trapped", daq.ShortCircuit},
		{"break body wire", "body", daq.BrokenWire}, {"break room wire", "room", daq.BrokenWire},
		{"break room wire", "body", daq.Missing}, // its cold junction
		{"break room short", "room", daq.ShortCircuit}, {"break oil wire", "oil", daq.BrokenWire},
		{"break bridge wire", "bridge", daq.OverRange}, {"break supply short", "bridge", daq.Missing},
		{"break body stuck", "body", daq.Healthy},
	} {
		r, clock, read := sensing(t)
		read()
		do(t, r, e.command)
		clock.at += 11 * 1e9 // for what another channel needs, some seconds stand
		got := read()[e.channel]
		assert.Equal(t, e.want, got.Health, e.command+" "+e.channel)
		assert.Equal(t, e.want != daq.Healthy, math.IsNaN(got.Value))
		do(t, r, "mend "+r.bench.Channels[0].Name)
		for _, c := range r.bench.Channels {
			do(t, r, "mend "+c.Name)
		}
		assert.Equal(t, daq.Healthy, read()[e.channel].Health)
	}
}

func TestStuckIsTheVerySameNumber(t *testing.T) {
	r, clock, read := sensing(t)
	before := read()["trapped"].Raw
	do(t, r, "break trapped stuck")
	do(t, r, "pump 50 bar")
	clock.at += 2 * pumpTime
	assert.Equal(t, before, read()["trapped"].Raw)
	_, err := r.Command("break nobody wire")
	assert.ErrorContains(t, err, `found "nobody", which is no channel`)
	_, err = r.Command("break trapped cable")
	assert.ErrorContains(t, err, `found "cable", want wire, short or stuck`)
	_, err = r.Command("break trapped")
	assert.ErrorContains(t, err, "want CHANNEL and wire, short or stuck")
}

// A shorted thermocouple shows its cold junction's temperature, and nothing
// tells it from a true one.
func TestAShortedThermocoupleReadsItsColdJunction(t *testing.T) {
	r, clock, read := sensing(t)
	do(t, r, "temperature 60 K/h")
	clock.at += 20 * 60 * 1e9
	do(t, r, "break body short")
	got := read()
	assert.Equal(t, daq.Healthy, got["body"].Health)
	assert.InDelta(t, got["room"].Value, got["body"].Value, 1e-6)
}
