package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
)

// couples is small with channels after "body" and "room" that need others.
var couples = unnumber(`
1  name = "couples"
2  [[link]]
3  name = "bus"
4  port = "COM3"
5  baud = 19200
6  [[instrument]]
7  name = "module"
8  kind = "modbus-rtu"
9  link = "bus"
10 address = 1
11 interval = "0.1 s"
12 [[channel]]
13 name = "body"
14 quantity = "temperature"
15 instrument = "module"
16 function = 4
17 register = 0
18 type = "int16"
19 raw_unit = "mV"
20 thermocouple = "K"
21 cold_junction = "cold"
22 range = ["-20 °C", "120 °C"]
23 tolerance_class = "1"
24 stuck_after = "5 min"
25 fastest = "5 K/s"
26 [[channel]]
27 name = "cold"
28 quantity = "temperature"
29 instrument = "module"
30 function = 4
31 register = 1
32 type = "int16"
33 raw_unit = "mV"
34 rtd = "Pt100"
35 excitation = "1 ± 0.001 mA"
36 [[channel]]
37 name = "trapped"
38 quantity = "pressure"
39 instrument = "module"
40 function = 4
41 register = 2
42 type = "int16"
43 raw_unit = "mV"
44 table = [["0 mV/V", "0 bar"], ["1 mV/V", "200 bar"], ["2 mV/V", "390 bar"]]
45 excitation = "supply"
46 reference = "gauge"
47 [[channel]]
48 name = "supply"
49 quantity = "voltage"
50 instrument = "module"
51 function = 4
52 register = 3
53 type = "int16"
54 raw_unit = "V"
55 [[channel]]
56 name = "feed"
57 quantity = "pressure"
58 instrument = "module"
59 function = 4
60 register = 4
61 type = "int16"
62 raw_unit = "mA"
63 polynomial = [-62.5, 15.625]
64 value_unit = "bar"
65 raw_range = ["4 mA", "20 mA"]
66 reference = "gauge"
`)

func TestEachFaultOfASensor(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"as it should be", nil, nil},
		{"two ways at once", []string{`rtd = "Pt100"`, "rtd = \"Pt100\"\nthermocouple = \"K\"\ncold_junction = \"23 ± 1 °C\""}, []string{
			`bench.toml:34: channel "cold": rtd: found a second way from the signal to the value, beside thermocouple, want one of scaling, polynomial, table, thermocouple, rtd`,
			`bench.toml:37: channel "cold": excitation: found "1 ± 0.001 mA", want no such key here (with scaling, polynomial, table or rtd only)`}},
		{"no such thermocouple", []string{`thermocouple = "K"`, `thermocouple = "X"`}, []string{
			`bench.toml:20: channel "body": thermocouple: found "X", want "B" or "E" or "J" or "K" or "N" or "R" or "S" or "T"`}},
		{"a thermocouple in mA", []string{"raw_unit = \"mV\"\nthermocouple", "raw_unit = \"mA\"\nthermocouple"}, []string{
			`bench.toml:19: channel "body": raw_unit: found "mA", want a unit of voltage, which a thermocouple gives, e.g. "mV"`}},
		{"no cold junction", []string{`cold_junction = "cold"`, ``}, []string{
			`bench.toml:12: channel "body": cold_junction: found nothing, want the temperature channel of the cold junction, or a fixed value, e.g. "23 ± 0.5 °C"`}},
		{"a cold junction that is no channel", []string{`cold_junction = "cold"`, `cold_junction = "23"`}, []string{
			`bench.toml:21: channel "body": cold_junction: found "23", which is no channel, want a temperature channel (body, cold), or a fixed value, e.g. "23 ± 0.5 °C"`}},
		{"a cold junction in bar", []string{`cold_junction = "cold"`, `cold_junction = "trapped"`}, []string{
			`bench.toml:21: channel "body": cold_junction: found "trapped", a pressure channel, want a temperature channel (body, cold), or a fixed value, e.g. "23 ± 0.5 °C"`}},
		{"a cold junction that is too cold", []string{`cold_junction = "cold"`, `cold_junction = "-272 ± 1 °C"`}, []string{
			`bench.toml:21: channel "body": cold_junction: found "-272 ± 1 °C", want a temperature at which a thermocouple of type K has a voltage`}},
		{"a cold junction that is never off", []string{`cold_junction = "cold"`, `cold_junction = "23 °C"`}, []string{
			`bench.toml:21: channel "body": cold_junction: found "23 °C" without an uncertainty, want a fixed value with how far it may be off at any time (standard uncertainty), e.g. "23 ± 0.5 °C"`}},
		{"an excitation that is never off", []string{`excitation = "supply"`, `excitation = "10 V"`}, []string{
			`bench.toml:45: channel "trapped": excitation: found "10 V" without an uncertainty, want a fixed value with how far it may be off at any time (standard uncertainty), e.g. "10 ± 0.005 V"`}},
		{"an excitation of no known level", []string{"raw_unit = \"V\"\n", "raw_unit = \"V\"\naccuracy = \"0.02 V\"\nrange = [\"-10 V\", \"10 V\"]\n"}, []string{
			`bench.toml:45: channel "trapped": excitation: found "supply", whose accuracy or calibration is stated and whose range does not begin above zero, want a channel with the range of the excitation itself, e.g. range = ["9.5 V", "10.5 V"]: what it is wrong by counts in relation to that`}},
		{"its own cold junction", []string{`cold_junction = "cold"`, `cold_junction = "body"`}, []string{
			`bench.toml:21: channel "body": cold_junction: found "body", which cannot be read without this one, want a channel that does not need this one`}},
		{"two that need each other", []string{"raw_unit = \"mV\"\nrtd = \"Pt100\"\nexcitation = \"1 ± 0.001 mA\"", "raw_unit = \"mV\"\nthermocouple = \"T\"\ncold_junction = \"body\""}, []string{
			`bench.toml:21: channel "body": cold_junction: found "cold", which cannot be read without this one, want a channel that does not need this one`}},
		{"a pressure from a thermocouple", []string{`table = [["0 mV/V", "0 bar"], ["1 mV/V", "200 bar"], ["2 mV/V", "390 bar"]]`, `thermocouple = "K"`, `excitation = "supply"`, `cold_junction = "cold"`}, []string{
			`bench.toml:44: channel "trapped": thermocouple: found "K" of a pressure channel, want quantity = "temperature"`}},
		{"a resistance in volts without its current", []string{`excitation = "1 ± 0.001 mA"`, ``}, []string{
			`bench.toml:33: channel "cold": raw_unit: found "mV", want a unit of resistance, which a rtd gives, e.g. "Ω"`}},
		{"a current of nothing", []string{`excitation = "1 ± 0.001 mA"`, `excitation = "0 ± 0.001 mA"`}, []string{
			`bench.toml:35: channel "cold": excitation: found "0 ± 0.001 mA", want above zero`}},
		{"a table that turns", []string{`["2 mV/V", "390 bar"]`, `["2 mV/V", "190 bar"]`}, []string{
			`bench.toml:44: channel "trapped": table: found points 2 and 3 out of order, want two or more points of signal and value, signals rising, values rising or falling all the way, e.g. [["0 V", "0 bar"], ["5 V", "124 bar"], ["10 V", "250 bar"]]`}},
		{"an excitation of bar", []string{`excitation = "supply"`, `excitation = "feed"`}, []string{
			`bench.toml:45: channel "trapped": excitation: found "feed", a pressure channel, want a voltage channel (supply), or a fixed value, e.g. "10 ± 0.005 V"`}},
		{"a polynomial that turns", []string{`[-62.5, 15.625]`, `[0, 15, -1]`}, []string{
			`bench.toml:63: channel "feed": polynomial: found a polynomial that does not rise or fall all the way over raw_range, want two or more coefficients, the constant one first, e.g. [-62.5, 15.625, 0.001]`}},
		{"a polynomial without its ends", []string{`raw_range = ["4 mA", "20 mA"]`, ``}, []string{
			`bench.toml:55: channel "feed": raw_range: found nothing, want a list of two, the lower one first, e.g. ["4 mA", "20 mA"]`}},
		{"a class that does not reach so far", []string{`range = ["-20 °C", "120 °C"]`, `range = ["-50 °C", "120 °C"]`}, []string{
			`bench.toml:22: channel "body": range: found ["-50 °C", "120 °C"], want a range within -40 to 1000 °C, where class 1 of K holds (IEC 60584-1)`}},
		{"a type that tells nothing there", []string{`thermocouple = "K"`, `thermocouple = "B"`, `tolerance_class = "1"`, `tolerance_class = "2"`}, []string{
			`bench.toml:22: channel "body": range: found ["-20 °C", "120 °C"], want a range within 250 to 1820 °C, which B tells`}},
		{"a platinum that melts", []string{`excitation = "1 ± 0.001 mA"`, "excitation = \"1 ± 0.001 mA\"\nrange = [\"-20 °C\", \"900 °C\"]"}, []string{
			`bench.toml:36: channel "cold": range: found ["-20 °C", "900 °C"], want a range within -200 to 850 °C, which Pt100 tells`}},
		{"a class without a range", []string{`range = ["-20 °C", "120 °C"]`, ``}, []string{
			`bench.toml:23: channel "body": tolerance_class: found "1" without a range, want a range within -40 to 1000 °C, where class 1 of K holds (IEC 60584-1)`}},
		{"no such class", []string{`tolerance_class = "1"`, `tolerance_class = "A"`}, []string{
			`bench.toml:23: channel "body": tolerance_class: found "A", want "1" or "2" or "3"`}},
		{"a class of a bridge", []string{`excitation = "supply"`, "excitation = \"supply\"\ntolerance_class = \"A\""}, []string{
			`bench.toml:46: channel "trapped": tolerance_class: found "A", want no such key here (thermocouple and rtd only)`}},
		{"stuck at once", []string{`stuck_after = "5 min"`, `stuck_after = "0.1 s"`}, []string{
			`bench.toml:24: channel "body": stuck_after: found "0.1 s", want a time with unit, from "1 s" to "1 d"`}},
		{"stuck before it could move", []string{`interval = "0.1 s"`, `interval = "40 s"`}, []string{
			`bench.toml:24: channel "body": stuck_after: found "5 min", want at least 10 intervals of instrument "module", 400 s`}},
		{"fast as bar", []string{`fastest = "5 K/s"`, `fastest = "5 bar/s"`}, []string{
			`bench.toml:25: channel "body": fastest: found "5 bar/s", a pressure rate, want a temperature rate in K/s, K/h and the like, e.g. "3 K/h"`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := bench.Parse("bench.toml", []byte(broken(t, couples, c.edits...)))
			assert.Equal(t, c.want, lines(err))
		})
	}
}

func TestSensorsOfABenchFile(t *testing.T) {
	b := parsed(t, couples)
	body, _, _ := b.Channel("body")
	assert.Equal(t, "K", body.Sensor)
	assert.Equal(t, bench.Companion{Channel: "cold"}, body.ColdJunction)
	assert.Equal(t, "1", body.ToleranceClass)
	assert.InDelta(t, 5, body.Fastest, 1e-12)
	cold, _, _ := b.Channel("cold")
	assert.InDelta(t, 1e-3, cold.Excitation.Value, 1e-15)
	words := map[string]string{"body": "thermocouple K, class 1, cold junction cold", "cold": "Pt100, excitation 1 mA",
		"trapped": "table of 3 points, excitation supply", "supply": "", "feed": "polynomial of degree 1"}
	for name, want := range words {
		c, _, _ := b.Channel(name)
		assert.Equal(t, want, c.Sensing())
	}
	b = parsed(t, broken(t, couples, `cold_junction = "cold"`, `cold_junction = "23 ± 0.5 °C"`))
	body, _, _ = b.Channel("body")
	assert.Empty(t, body.ColdJunction.Channel)
	assert.InDelta(t, 296.15, body.ColdJunction.Value, 1e-9)
	assert.InDelta(t, 0.5, body.ColdJunction.U, 1e-12)
	require.True(t, body.ColdJunction.Given())
}
