package bench_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
)

// A relay and a switch, to be put behind the small bench file.
const (
	aPump = `[[output]]
name = "pump"
role = "pump"
instrument = "module"
function = 5
register = 0
`
	aSwitch = `[[channel]]
name = "low"
quantity = "state"
instrument = "module"
function = 2
register = 7
inverted = true
debounce = "50 ms"
`
)

func TestOutputsAndStatesAreRead(t *testing.T) {
	text := "outputs = true\n" + broken(t, small, `interval = "0.1 s"`, "interval = \"0.1 s\"\nwatchdog = \"2 s\"",
		`temperature = "body"`, "temperature = \"body\"\nwarning_switch = \"low\"", "[[position]]\nname = \"1\"", "[[position]]\nname = \"1\"\npump_state = \"low\"") +
		aPump + aSwitch
	b, err := bench.Parse("bench.toml", []byte(text))
	require.NoError(t, err)
	assert.True(t, b.DrivesOutputs)
	require.Len(t, b.Outputs, 1)
	o := b.Outputs[0]
	assert.Equal(t, "pump", o.Name)
	assert.Equal(t, daq.Pump, o.Role)
	assert.Equal(t, []daq.Output{{Name: "pump", Role: daq.Pump}}, b.Driven("1"))
	assert.Empty(t, b.Unwatched())
	assert.NoError(t, b.Drives("1", []daq.Role{daq.Pump}))
	assert.EqualError(t, b.Drives("1", []daq.Role{daq.Pump, daq.Vent}), `bench.toml: position "1": found no output of role "vent", want an [[output]] for it, as the procedure drives it`)
	low, _, ok := b.Channel("low")
	require.True(t, ok)
	assert.True(t, low.State)
	assert.True(t, low.Inverted)
	assert.Equal(t, 50*time.Millisecond, low.Debounce)
	assert.Equal(t, "low", b.Positions[0].PumpState)
	assert.Equal(t, "low", b.Positions[0].Circuits[0].WarningSwitch)

	b, err = bench.Parse("bench.toml", []byte(small+aPump))
	require.NoError(t, err)
	assert.False(t, b.DrivesOutputs)
	assert.Empty(t, b.Driven("1"), "not without leave")
	assert.Empty(t, b.Unwatched())

	b, err = bench.Parse("bench.toml", []byte("outputs = true\n"+small+aPump))
	require.NoError(t, err)
	require.Len(t, b.Unwatched(), 1)
	assert.Equal(t, "module", b.Unwatched()[0].Name)
}

func TestEachFaultOfOutputsAndStates(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"outputs without one", "outputs = true\n" + small, []string{
			`bench.toml:1: outputs: found true, but no [[output]], want an [[output]] for each thing to switch, or no such key`}},
		{"outputs no truth", "outputs = \"yes\"\n" + small + aPump, []string{
			`bench.toml:1: outputs: found "yes", want true or false, without quotes`}},
		{"role", small + broken(t, aPump, `role = "pump"`, `role = "heater"`), []string{
			`bench.toml:78: output "pump": role: found "heater", want "pump" or "lock" or "vent"`}},
		{"instrument unknown", small + broken(t, aPump, `"module"`, `"modul"`), []string{
			`bench.toml:79: output "pump": instrument: found "modul", want the name of an instrument (module, probe)`}},
		{"instrument without outputs", small + broken(t, aPump, "\"module\"\nfunction = 5\nregister = 0", `"probe"`), []string{
			`bench.toml:79: output "pump": instrument: found "probe", of kind text-stream, want an instrument that can switch outputs (modbus-rtu, modbus-tcp)`}},
		{"position unknown", small + aPump + "position = \"2\"\n", []string{
			`bench.toml:82: output "pump": position: found "2", want the name of a position (1), or no such key where it serves all`}},
		{"the same twice", small + aPump + broken(t, aPump, `name = "pump"`, `name = "pump_2"`), []string{
			`bench.toml:87: output "pump_2": register: found 0, which output "pump" switches already, want an output of its own`}},
		{"name twice", small + aPump + broken(t, aPump, `register = 0`, `register = 1`), []string{
			`bench.toml:83: output "pump": name: found "pump" a second time, want another name (first in line 77)`}},
		{"watchdog too short", broken(t, small, `interval = "0.1 s"`, "interval = \"0.1 s\"\nwatchdog = \"0.15 s\""), []string{
			`bench.toml:20: instrument "module": watchdog: found "0.15 s", want at least twice the scan interval, 0.2 s, set so in the module too: else a late scan switches its outputs off`}},
		{"state with a unit", small + aSwitch + "raw_unit = \"bar\"\n", []string{
			`bench.toml:84: channel "low": raw_unit: found "bar", want no such key here (a state is on or off)`}},
		{"state with a range", small + aSwitch + "range = [\"0 bar\", \"1 bar\"]\n", []string{
			`bench.toml:84: channel "low": range: found ["0 bar", "1 bar"], want no such key here (a state is on or off)`}},
		{"debounce", small + broken(t, aSwitch, `"50 ms"`, `"1 min"`), []string{
			`bench.toml:83: channel "low": debounce: found "1 min", want a time with unit, from "0 s" to "10 s"`}},
		{"debounced pressure", broken(t, small, `gain_uncertainty = "0.05 %"`, `debounce = "20 ms"`), []string{
			`bench.toml:38: channel "trapped": debounce: found "20 ms", want no such key here (quantity = "state" only)`}},
		{"warning switch a pressure", broken(t, small, `temperature = "body"`, "temperature = \"body\"\nwarning_switch = \"feed\"") + aSwitch, []string{
			`bench.toml:76: position "1": circuit "a": warning_switch: found "feed", a pressure channel, want a state channel (low)`}},
		{"pump state unknown", broken(t, small, "[[position]]\nname = \"1\"", "[[position]]\nname = \"1\"\npump_state = \"pump\""), []string{
			`bench.toml:71: position "1": pump_state: found "pump", which is no channel, want a state channel`}},
		{"trapped a state", broken(t, small, `trapped = "trapped"`, `trapped = "low"`) + aSwitch, []string{
			`bench.toml:73: position "1": circuit "a": trapped: found "low", a state channel, want a pressure channel (trapped, feed)`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := bench.Parse("bench.toml", []byte(c.text))
			assert.Equal(t, c.want, lines(err))
		})
	}
}
