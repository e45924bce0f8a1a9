package bench_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/strict"
)

// small is a bench file in which each row below breaks something. The number
// before each line is its line in the file.
var small = unnumber(`
1  name = "small"
2  [ambient]
3  pressure = "1013 ± 3 mbar"
4  temperature_channel = "room"
5  [[link]]
6  name = "bus"
7  port = "COM3"
8  baud = 19200
9  parity = "even"
10 timeout = "200 ms"
11 [[link]]
12 name = "wire"
13 port = "tcp://10.0.0.7:4001"
14 [[instrument]]
15 name = "module"
16 kind = "modbus-rtu"
17 link = "bus"
18 address = 1
19 interval = "0.1 s"
20 [[instrument]]
21 name = "probe"
22 kind = "text-stream"
23 link = "wire"
24 separator = ";"
25 interval = "1 s"
26 [[channel]]
27 name = "trapped"
28 quantity = "pressure"
29 instrument = "module"
30 function = 4
31 register = 0
32 type = "int16"
33 raw_scale = 0.001
34 raw_unit = "mA"
35 scaling = [["4 mA", "0 bar"], ["20 mA", "250 bar"]]
36 reference = "gauge"
37 range = ["0 bar", "250 bar"]
38 gain_uncertainty = "0.05 %"
39 drift = "0.002 bar/h"
40 [channel.calibration]
41 certificate = "C-1"
42 date = 2026-03-02
43 due = 2027-03-02
44 uncertainty = "0.05 bar"
45 points = [["0 bar", "0.02 bar"], ["250 bar", "250.05 bar"]]
46 [[channel]]
47 name = "feed"
48 quantity = "pressure"
49 instrument = "module"
50 function = 4
51 register = 2
52 type = "float32"
53 word_order = "high-first"
54 raw_unit = "bar"
55 reference = "absolute"
56 [[channel]]
57 name = "body"
58 quantity = "temperature"
59 instrument = "probe"
60 column = 1
61 raw_unit = "°C"
62 range = ["-20 °C", "120 °C"]
63 [[channel]]
64 name = "room"
65 quantity = "temperature"
66 instrument = "probe"
67 column = 2
68 raw_unit = "°C"
69 [[position]]
70 name = "1"
71 [[position.circuit]]
72 name = "a"
73 trapped = "trapped"
74 feed = "feed"
75 temperature = "body"
`)

// unnumber takes the line numbers away.
func unnumber(text string) string {
	var out strings.Builder
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		_, rest, _ := strings.Cut(line, " ")
		out.WriteString(strings.TrimSpace(rest) + "\n")
	}
	return out.String()
}

// broken is text with some lines replaced: "old → new" pairs, each old
// standing there.
func broken(t *testing.T, text string, edits ...string) string {
	t.Helper()
	for i := 0; i < len(edits); i += 2 {
		require.Equal(t, 1, strings.Count(text, edits[i]), "%q does not stand in the file once", edits[i])
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	return text
}

func lines(err error) []string {
	if err == nil {
		return nil
	}
	return strings.Split(err.Error(), "\n")
}

func TestEachFaultOfABenchFile(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"as it should be", nil, nil},
		{"no name", []string{`name = "small"`, `name = ""`}, []string{
			`bench.toml:1: name: found "", want a text in quotes, on one line`}},
		{"mistyped table", []string{"[ambient]", "[ambeint]"}, []string{
			`bench.toml:2: ambeint: found an unknown key, want "ambient"?`}},
		{"no link", []string{"[[link]]\nname = \"wire\"\nport = \"tcp://10.0.0.7:4001\"\n", "", "link = \"wire\"", ""}, []string{
			`bench.toml:17: instrument "probe": link: found nothing, want a text in quotes, on one line`}},

		{"ambient not a channel", []string{`pressure = "1013 ± 3 mbar"`, `channel = "air"`}, []string{
			`bench.toml:3: ambient: channel: found "air", which is no channel, want a pressure channel (trapped, feed)`}},
		{"ambient gauge", []string{`pressure = "1013 ± 3 mbar"`, `channel = "trapped"`}, []string{
			`bench.toml:3: ambient: channel: found "trapped", a gauge transducer, want a channel with reference = "absolute"`}},
		{"ambient temperature", []string{`pressure = "1013 ± 3 mbar"`, `channel = "body"`}, []string{
			`bench.toml:3: ambient: channel: found "body", a temperature channel, want a pressure channel (trapped, feed)`}},
		{"ambient twice", []string{`pressure = "1013 ± 3 mbar"`, "pressure = \"1013 ± 3 mbar\"\nchannel = \"feed\""}, []string{
			`bench.toml:3: ambient: pressure: found "1013 ± 3 mbar", want no such key here (the pressure comes from the channel)`}},
		{"ambient without uncertainty", []string{`"1013 ± 3 mbar"`, `"1013 mbar"`}, []string{
			`bench.toml:3: ambient: pressure: found "1013 mbar", want a pressure ± its standard uncertainty in Pa, hPa, kPa, MPa, bar, mbar, psi, ksi, kgf/cm², at, atm, Torr, mmHg, inHg, mmH2O, inH2O, ftH2O, e.g. "100 ± 0.5 bar"`}},
		{"ambient in the wrong unit", []string{`"1013 ± 3 mbar"`, `"1013 ± 3 bar"`}, []string{
			`bench.toml:3: ambient: pressure: found "1013 ± 3 bar", want an absolute air pressure from 500 mbar to 1100 mbar`}},
		{"room a pressure", []string{`temperature_channel = "room"`, `temperature_channel = "feed"`}, []string{
			`bench.toml:4: ambient: temperature_channel: found "feed", a pressure channel, want a temperature channel (body, room)`}},

		{"link twice", []string{`name = "wire"`, `name = "bus"`, `link = "wire"`, `link = "bus"`}, []string{
			`bench.toml:12: link "bus": name: found "bus" a second time, want another name (first in line 6)`,
			`bench.toml:23: instrument "probe": link: found "bus", shared with instrument "module", want a link of its own for an instrument that streams`}},
		{"port twice", []string{`port = "tcp://10.0.0.7:4001"`, "baud = 9600\nport = \"COM3\""}, []string{
			`bench.toml:14: link "wire": port: found "COM3" a second time, want another port (first in line 7)`}},
		{"no port", []string{`port = "COM3"`, ``}, []string{
			`bench.toml:5: link "bus": port: found nothing, want a serial port, e.g. "/dev/ttyUSB0" or "COM3", "tcp://host:port", or usb = { vendor = "…", product = "…" } of an adapter`}},
		{"usb", []string{`port = "COM3"`, `usb = { vendor = "0403", product = "6001", serial = "A1B2" }`}, nil},
		{"usb beside a port", []string{`port = "COM3"`, "port = \"COM3\"\nusb = { vendor = \"0403\", product = \"6001\" }"}, []string{
			`bench.toml:8: link "bus": usb: found a table, want no such key here (port says it already)`}},
		{"usb numbers", []string{`port = "COM3"`, `usb = { vendor = "403", product = "0x60", serial = "", maker = "x" }`}, []string{
			`bench.toml:7: link "bus": usb: vendor: found "403", want four hexadecimal digits, e.g. "0403", as holdbench ports prints them`,
			`bench.toml:7: link "bus": usb: product: found "0x60", want four hexadecimal digits, e.g. "0403", as holdbench ports prints them`,
			`bench.toml:7: link "bus": usb: serial: found "", want a text in quotes, on one line`,
			`bench.toml:7: link "bus": usb: maker: found an unknown key, want one of product, serial, vendor`}},
		{"usb not told apart", []string{`port = "COM3"`, `usb = { vendor = "10C4", product = "EA60" }`,
			`port = "tcp://10.0.0.7:4001"`, "baud = 9600\nusb = { vendor = \"10c4\", product = \"ea60\", serial = \"7\" }"}, []string{
			`bench.toml:14: link "wire": usb: found USB 10c4:ea60, serial number "7", while link "bus" is USB 10c4:ea60, want adapters that a serial number of each tells apart`}},
		{"usb without baud", []string{`port = "tcp://10.0.0.7:4001"`, `usb = { vendor = "0403", product = "6001" }`}, []string{
			`bench.toml:11: link "wire": baud: found nothing, want a whole number from 50 to 12000000`}},
		{"baud below zero", []string{`baud = 19200`, `baud = -1`}, []string{
			`bench.toml:8: link "bus": baud: found -1, want a whole number from 50 to 12000000`}},
		{"no baud", []string{`baud = 19200`, ``}, []string{
			`bench.toml:5: link "bus": baud: found nothing, want a whole number from 50 to 12000000`}},
		{"parity", []string{`parity = "even"`, "parity = \"E\"\nstop_bits = 3\ndata_bits = 9"}, []string{
			`bench.toml:9: link "bus": parity: found "E", want "none" or "even" or "odd"`,
			`bench.toml:10: link "bus": stop_bits: found 3, want a whole number from 1 to 2`,
			`bench.toml:11: link "bus": data_bits: found 9, want a whole number from 7 to 8`}},
		{"7 bits", []string{`parity = "even"`, "data_bits = 7"}, []string{
			`bench.toml:17: instrument "module": link: found "bus" with 7 data bits, want a link with data_bits = 8, as Modbus RTU sends bytes`}},
		{"time-out", []string{`timeout = "200 ms"`, `timeout = "0.2 ms"`}, []string{
			`bench.toml:10: link "bus": timeout: found "0.2 ms", want a time with unit, from "1 ms" to "1 min"`}},
		{"time-out without unit", []string{`timeout = "200 ms"`, `timeout = 200`}, []string{
			`bench.toml:10: link "bus": timeout: found 200, want a time with unit, from "1 ms" to "1 min"`}},
		{"tcp without port", []string{`tcp://10.0.0.7:4001`, `tcp://10.0.0.7`}, []string{
			`bench.toml:13: link "wire": port: found "tcp://10.0.0.7", want "tcp://host:port", e.g. "tcp://10.0.0.7:4001"`}},
		{"other address", []string{`tcp://10.0.0.7:4001`, `http://10.0.0.7:4001`}, []string{
			`bench.toml:11: link "wire": baud: found nothing, want a whole number from 50 to 12000000`,
			`bench.toml:13: link "wire": port: found "http://10.0.0.7:4001", want a serial port, e.g. "/dev/ttyUSB0" or "COM3", or "tcp://host:port"`}},

		{"instrument twice", []string{"[[channel]]\nname = \"trapped\"", "[[instrument]]\nname = \"module\"\nkind = \"modbus-rtu\"\nlink = \"bus\"\naddress = 2\ninterval = \"1 s\"\n[[channel]]\nname = \"trapped\""}, []string{
			`bench.toml:27: instrument "module": name: found "module" a second time, want another name (first in line 15)`}},
		{"unknown kind", []string{`kind = "text-stream"`, `kind = "text"`}, []string{
			`bench.toml:22: instrument "probe": kind: found "text", want "modbus-rtu" or "modbus-tcp" or "text-stream" or "text-asked"`}},
		{"unknown link", []string{`link = "bus"`, `link = "buss"`}, []string{
			`bench.toml:17: instrument "module": link: found "buss", want the name of a link (bus, wire)`}},
		{"address 0", []string{`address = 1`, `address = 0`}, []string{
			`bench.toml:18: instrument "module": address: found 0, want a whole number from 1 to 247`}},
		{"no address", []string{`address = 1`, ``}, []string{
			`bench.toml:14: instrument "module": address: found nothing, want a whole number from 1 to 247`}},
		{"address of a stream", []string{`separator = ";"`, "separator = \";\"\naddress = 2"}, []string{
			`bench.toml:25: instrument "probe": address: found 2, want no such key here (modbus-rtu, modbus-tcp only)`}},
		{"separator", []string{`separator = ";"`, "separator = \"1\""}, []string{
			`bench.toml:24: instrument "probe": separator: found "1", want what parts two columns, e.g. ",", ";", "tab", "space" or " | ", with nothing in it that numbers have`}},
		{"separator of a module", []string{`address = 1`, "address = 1\nseparator = \";\""}, []string{
			`bench.toml:19: instrument "module": separator: found ";", want no such key here (text-stream, text-asked only)`}},
		{"shared by a stream", []string{`link = "wire"`, `link = "bus"`}, []string{
			`bench.toml:23: instrument "probe": link: found "bus", shared with instrument "module", want a link of its own for an instrument that streams`}},
		{"same address", []string{`kind = "text-stream"`, "kind = \"modbus-rtu\"\naddress = 1", `link = "wire"`, `link = "bus"`, `separator = ";"`, ``,
			`column = 1`, "function = 4\nregister = 1\ntype = \"int16\"", `column = 2`, "function = 4\nregister = 2\ntype = \"int16\""}, []string{
			`bench.toml:23: instrument "probe": address: found 1, the address of instrument "module" on the same link, want another address, or one instrument for all its channels`}},
		{"no interval", []string{`interval = "1 s"`, `interval = "0 s"`}, []string{
			`bench.toml:25: instrument "probe": interval: found "0 s", want a time with unit, from "1 ms" to "1 h"`}},
		{"idle", []string{`separator = ";"`, "separator = \";\"\ninterval = \"1 s\"\n[[instrument]]\nname = \"idle\"\nkind = \"modbus-rtu\"\nlink = \"bus\"\naddress = 2"}, []string{
			`bench.toml:26: instrument "idle": found no channel that reads it, want at least one [[channel]] with instrument = "idle"`}},

		{"channel twice", []string{`name = "feed"`, `name = "trapped"`, `feed = "feed"`, `feed = "unmeasured"`}, []string{
			`bench.toml:47: channel "trapped": name: found "trapped" a second time, want another name (first in line 27)`}},
		{"channel name", []string{`name = "room"`, `name = "the room"`, `= "room"`, `= "body"`}, []string{
			`bench.toml:64: channel "the room": name: found "the room", want a name of letters, digits, "_", "-" and "."`}},
		{"quantity", []string{"name = \"room\"\nquantity = \"temperature\"", "name = \"room\"\nquantity = \"force\""}, []string{
			`bench.toml:65: channel "room": quantity: found "force", want "pressure" or "temperature" or "voltage" or "current" or "state"`}},
		{"unknown instrument", []string{"name = \"room\"\nquantity = \"temperature\"\ninstrument = \"probe\"", "name = \"room\"\nquantity = \"temperature\"\ninstrument = \"prob\""}, []string{
			`bench.toml:66: channel "room": instrument: found "prob", want the name of an instrument (module, probe)`}},
		{"function", []string{"function = 4\nregister = 0", "function = 6\nregister = 0"}, []string{
			`bench.toml:30: channel "trapped": function: found 6, want a whole number from 1 to 4`}},
		{"register", []string{"register = 0", "register = 65536"}, []string{
			`bench.toml:31: channel "trapped": register: found 65536, want a whole number from 0 to 65535`}},
		{"last register", []string{"register = 2", "register = 65535"}, []string{
			`bench.toml:51: channel "feed": register: found 65535, want at most 65534 for float32, which takes two registers`}},
		{"type", []string{`type = "int16"`, `type = "int8"`}, []string{
			`bench.toml:32: channel "trapped": type: found "int8", want "int16" or "uint16" or "int32" or "uint32" or "float32" or "float64" or "bit"`}},
		{"no word order", []string{`word_order = "high-first"`, ``}, []string{
			`bench.toml:46: channel "feed": word_order: found nothing, want "high-first" or "low-first"`}},
		{"word order of int16", []string{`type = "int16"`, "type = \"int16\"\nword_order = \"low-first\""}, []string{
			`bench.toml:33: channel "trapped": word_order: found "low-first", want no such key here (int32, uint32, float32, float64 only)`}},
		{"overlap", []string{"register = 0", "register = 3"}, []string{
			`bench.toml:51: channel "feed": register: found 2 (float32), which overlaps channel "trapped" (int16), want registers of its own`}},
		{"column of a register", []string{"register = 0", "register = 0\ncolumn = 1"}, []string{
			`bench.toml:32: channel "trapped": column: found 1, want no such key here (text-stream, text-asked only)`}},
		{"register of a column", []string{"column = 1", "column = 1\nregister = 0"}, []string{
			`bench.toml:61: channel "body": register: found 0, want no such key here (modbus-rtu, modbus-tcp only)`}},
		{"column 0", []string{"column = 1", "column = 0"}, []string{
			`bench.toml:60: channel "body": column: found 0, want a whole number from 1 to 1000`}},
		{"same column", []string{"column = 2", "column = 1"}, []string{
			`bench.toml:67: channel "room": column: found 1, which channel "body" reads already, want another column`}},
		{"raw scale 0", []string{"raw_scale = 0.001", "raw_scale = 0"}, []string{
			`bench.toml:33: channel "trapped": raw_scale: found 0, want a number other than 0`}},
		{"raw scale nan", []string{"raw_scale = 0.001", "raw_scale = nan"}, []string{
			`bench.toml:33: channel "trapped": raw_scale: found nan, want a number other than 0`}},
		{"raw unit none", []string{`raw_unit = "mA"`, `raw_unit = "milliamp"`}, []string{
			`bench.toml:34: channel "trapped": raw_unit: found "milliamp", want the unit of a signal, e.g. "mA", "V", "bar", or "1" for bare counts`}},
		{"raw unit of another quantity", []string{`raw_unit = "bar"`, `raw_unit = "mA"`}, []string{
			`bench.toml:54: channel "feed": raw_unit: found "mA", want a unit of pressure, or scaling from this unit to it`}},
		{"scaling outside what is carried", []string{`["20 mA", "250 bar"]]`, "[\"20 mA\", \"250 bar\"]]\nraw_range = [\"0 mA\", \"4 mA\"]"}, []string{
			`bench.toml:36: channel "trapped": raw_range: found ["0 mA", "4 mA"], want a range of signals in which the line between scaling's points is used`}},
		{"scaling with one signal", []string{`["20 mA", "250 bar"]]`, `["4 mA", "250 bar"]]`}, []string{
			`bench.toml:35: channel "trapped": scaling: found two points with the same signal, want two different signals`}},
		{"scaling with one value", []string{`["20 mA", "250 bar"]]`, `["20 mA", "0 bar"]]`}, []string{
			`bench.toml:35: channel "trapped": scaling: found two points with the same value, want two different values`}},
		{"scaling with one point", []string{`, ["20 mA", "250 bar"]]`, `]`}, []string{
			`bench.toml:35: channel "trapped": scaling: found [["4 mA", "0 bar"]], want two points of signal and value, e.g. [["4 mA", "0 bar"], ["20 mA", "250 bar"]]`}},
		{"scaling point of one", []string{`["20 mA", "250 bar"]]`, `["20 mA"]]`}, []string{
			`bench.toml:35: channel "trapped": scaling: point 2: found ["20 mA"], want a signal and a value, e.g. ["4 mA", "0 bar"]`}},
		{"scaling the wrong way round", []string{`["20 mA", "250 bar"]]`, `["250 bar", "20 mA"]]`}, []string{
			`bench.toml:35: channel "trapped": scaling: point 2: signal: found "250 bar", a pressure, want a current in A, mA, µA, e.g. "12 mA"`,
			`bench.toml:35: channel "trapped": scaling: point 2: value: found "20 mA", a current, want a pressure in Pa, hPa, kPa, MPa, bar, mbar, psi, ksi, kgf/cm², at, atm, Torr, mmHg, inHg, mmH2O, inH2O, ftH2O, e.g. "100 bar"`}},
		{"no reference", []string{`reference = "absolute"`, ``}, []string{
			`bench.toml:46: channel "feed": reference: found nothing, want "gauge" or "absolute"`}},
		{"reference of a temperature", []string{`column = 1`, "column = 1\nreference = \"gauge\""}, []string{
			`bench.toml:61: channel "body": reference: found "gauge", want no such key here (pressure only)`}},
		{"range upside down", []string{`range = ["0 bar", "250 bar"]`, `range = ["250 bar", "0 bar"]`}, []string{
			`bench.toml:37: channel "trapped": range: found ["250 bar", "0 bar"], want a list of two, the lower one first, e.g. ["0 bar", "250 bar"]`}},
		{"range beyond vacuum", []string{`range = ["0 bar", "250 bar"]`, `range = ["-250 bar", "250 bar"]`}, []string{
			`bench.toml:37: channel "trapped": range: found ["-250 bar", "250 bar"], want a range from -1.1 bar to 10000 bar`}},
		{"absolute below nothing", []string{`reference = "absolute"`, "reference = \"absolute\"\nrange = [\"-1 bar\", \"3 bar\"]"}, []string{
			`bench.toml:56: channel "feed": range: found ["-1 bar", "3 bar"], want a range from 0 bar to 10000 bar absolute`}},
		{"below absolute zero", []string{`"-20 °C"`, `"-300 °C"`}, []string{
			`bench.toml:62: channel "body": range: low: found "-300 °C", want a temperature not below absolute zero (0 K), e.g. "23 °C"`}},
		{"too hot", []string{`"120 °C"`, `"12000 °C"`}, []string{
			`bench.toml:62: channel "body": range: found ["-20 °C", "12000 °C"], want a range from absolute zero to 2000 K`}},
		{"no range of the trapped side", []string{`range = ["0 bar", "250 bar"]`, ``}, []string{
			`bench.toml:73: position "1": circuit "a": trapped: found "trapped", a channel without range, want a channel whose range is stated, e.g. range = ["0 bar", "250 bar"]`}},
		{"accuracy", []string{`drift = "0.002 bar/h"`, "drift = \"0.002 bar\"\naccuracy = \"-1 bar\"\nresolution = \"1 K\""}, []string{
			`bench.toml:39: channel "trapped": drift: found "0.002 bar", a pressure, want a pressure rate in Pa/s, bar/min and the like, e.g. "0.5 bar/min"`,
			`bench.toml:40: channel "trapped": accuracy: found "-1 bar", want a pressure change with unit, zero or more, e.g. "2 bar"`,
			`bench.toml:41: channel "trapped": resolution: found "1 K", a temperature, want a pressure change in Pa, hPa, kPa, MPa, bar, mbar, psi, ksi, kgf/cm², at, atm, Torr, mmHg, inHg, mmH2O, inH2O, ftH2O, e.g. "2 bar"`}},
		{"temperature effect", []string{`drift = "0.002 bar/h"`, `temperature_effect = "0.02 bar"`}, []string{
			`bench.toml:39: channel "trapped": temperature_effect: found "0.02 bar", a pressure, want a thermal coefficient in Pa/K, bar/K and the like, e.g. "4.5 bar/K"`}},
		{"temperature effect of a probe", []string{`range = ["-20 °C", "120 °C"]`, "temperature_effect = \"0.02 bar/K\""}, []string{
			`bench.toml:62: channel "body": temperature_effect: found "0.02 bar/K", want no such key here (pressure only)`}},
		{"gain", []string{`"0.05 %"`, `"105 %"`}, []string{
			`bench.toml:38: channel "trapped": gain_uncertainty: found "105 %", want less than 100 %`}},
		{"drift of a voltage", []string{"name = \"room\"\nquantity = \"temperature\"", "drift = \"1 V\"\nname = \"volts\"\nquantity = \"voltage\"", "column = 2\nraw_unit = \"°C\"", "column = 2\nraw_unit = \"V\"", `"room"`, `"body"`}, []string{
			`bench.toml:64: channel "volts": drift: found "1 V", want no such key here (pressure and temperature only)`}},

		{"calibration", []string{`certificate = "C-1"`, ``, `date = 2026-03-02`, `date = "2026-03-02"`, `"0.05 bar"`, `"0 bar"`}, []string{
			`bench.toml:40: channel "trapped": calibration: certificate: found nothing, want a text in quotes, on one line`,
			`bench.toml:42: channel "trapped": calibration: date: found "2026-03-02", want a date without quotes, e.g. 2026-03-02`,
			`bench.toml:44: channel "trapped": calibration: uncertainty: found "0 bar", want a pressure change with unit, above zero, e.g. "2 bar"`}},
		{"due before date", []string{`due = 2027-03-02`, `due = 2025-03-02`}, []string{
			`bench.toml:43: channel "trapped": calibration: due: found 2025-03-02, want a day after the calibration's own, 2026-03-02`}},
		{"points falling", []string{`["250 bar", "250.05 bar"]]`, `["250 bar", "0.01 bar"]]`}, []string{
			`bench.toml:45: channel "trapped": calibration: points: found points 1 and 2 not rising, want pairs of reference and indicated, both rising, e.g. [["0 bar", "0.02 bar"], ["100 bar", "100.05 bar"]]`}},
		{"points", []string{`["250 bar", "250.05 bar"]]`, `["250 bar"], "x", ["260", "261 bar"]]`}, []string{
			`bench.toml:45: channel "trapped": calibration: points: item 2: found ["250 bar"], want reference and indicated, e.g. ["100 bar", "100.1 bar"]`,
			`bench.toml:45: channel "trapped": calibration: points: item 3: found "x", want reference and indicated, e.g. ["100 bar", "100.1 bar"]`,
			`bench.toml:45: channel "trapped": calibration: points: item 4: reference: found 260, want a pressure with unit, e.g. "260 bar"`}},
		{"no points", []string{`[["0 bar", "0.02 bar"], ["250 bar", "250.05 bar"]]`, `[]`}, []string{
			`bench.toml:45: channel "trapped": calibration: points: found an empty list, want pairs of reference and indicated, both rising, e.g. [["0 bar", "0.02 bar"], ["100 bar", "100.05 bar"]]`}},

		{"position without circuit", []string{"[[position.circuit]]\nname = \"a\"\ntrapped = \"trapped\"\nfeed = \"feed\"\ntemperature = \"body\"", ""}, []string{
			`bench.toml:69: position "1": circuit: found nothing, want at least one table [[position.circuit]]`}},
		{"circuit c", []string{`name = "a"`, `name = "c"`}, []string{
			`bench.toml:72: position "1": circuit "c": name: found "c", want "a" or "b"`}},
		{"circuit twice", []string{`temperature = "body"`, "[[position.circuit]]\nname = \"a\"\ntrapped = \"trapped\"\nfeed = \"feed\""}, []string{
			`bench.toml:76: position "1": circuit "a": name: found "a" a second time, want another circuit (first in line 72)`,
			`bench.toml:77: position "1": circuit "a": trapped: found "trapped", the trapped side of circuit a of position 1, want a transducer of its own for each circuit`}},
		{"position twice", []string{`temperature = "body"`, "[[position]]\nname = \"1\"\n[[position.circuit]]\nname = \"a\"\ntrapped = \"trapped\"\nfeed = \"unmeasured\""}, []string{
			`bench.toml:76: position "1": name: found "1" a second time, want another name (first in line 70)`,
			`bench.toml:79: position "1": circuit "a": trapped: found "trapped", the trapped side of circuit a of position 1, want a transducer of its own for each circuit`}},
		{"trapped a temperature", []string{`trapped = "trapped"`, `trapped = "body"`}, []string{
			`bench.toml:73: position "1": circuit "a": trapped: found "body", a temperature channel, want a pressure channel (trapped, feed)`}},
		{"trapped unknown", []string{`trapped = "trapped"`, `trapped = "traped"`}, []string{
			`bench.toml:73: position "1": circuit "a": trapped: found "traped", which is no channel, want a pressure channel (trapped, feed)`}},
		{"no feed", []string{`feed = "feed"`, ``}, []string{
			`bench.toml:71: position "1": circuit "a": feed: found nothing, want a pressure channel (trapped, feed), or feed = "unmeasured" where the feed side has no transducer`}},
		{"feed unknown", []string{`feed = "feed"`, `feed = "not measured"`}, []string{
			`bench.toml:74: position "1": circuit "a": feed: found "not measured", which is no channel, want a pressure channel (trapped, feed), or feed = "unmeasured" where the feed side has no transducer`}},
		{"feed is trapped", []string{`feed = "feed"`, `feed = "trapped"`}, []string{
			`bench.toml:74: position "1": circuit "a": feed: found "trapped", which is the trapped side, want another channel, or feed = "unmeasured" where the feed side has no transducer`}},
		{"temperature a pressure", []string{`temperature = "body"`, `temperature = "feed"`}, []string{
			`bench.toml:75: position "1": circuit "a": temperature: found "feed", a pressure channel, want a temperature channel (body, room)`}},
		{"temperatures", []string{`temperature = "body"`, `temperature = ["body", "feed", "body"]`}, []string{
			`bench.toml:75: position "1": circuit "a": temperature: item 2: found "feed", a pressure channel, want a temperature channel (body, room)`,
			`bench.toml:75: position "1": circuit "a": temperature: item 3: found "body" again, want each channel once`}},
		{"no temperatures", []string{`temperature = "body"`, `temperature = []`}, []string{
			`bench.toml:75: position "1": circuit "a": temperature: found an empty list, want a temperature channel (body, room), or a list of them`}},

		{"simulated", []string{`name = "small"`, "name = \"small\"\nsimulated = { leak = \"1 bar\", seed = -1, test_pressure = \"0 bar\", speed = 2 }"}, []string{
			`bench.toml:2: simulated: leak: found "1 bar", a pressure, want a pressure rate in Pa/s, bar/min and the like, e.g. "0.5 bar/min"`,
			`bench.toml:2: simulated: test_pressure: found "0 bar", want a pressure with unit, above zero, e.g. "100 bar"`,
			`bench.toml:2: simulated: seed: found -1, want a whole number from 0 to 9223372036854775807`,
			`bench.toml:2: simulated: speed: found an unknown key, want "seed"?`}},
		{"several at once, in the order of their lines", []string{`feed = "feed"`, `feed = "fed"`, `baud = 19200`, `baud = 0`, `range = ["0 bar", "250 bar"]`, "range = 400\nrnage = 3"}, []string{
			`bench.toml:8: link "bus": baud: found 0, want a whole number from 50 to 12000000`,
			`bench.toml:37: channel "trapped": range: found 400, want a list of two, the lower one first, e.g. ["0 bar", "250 bar"]`,
			`bench.toml:38: channel "trapped": rnage: found an unknown key, want "range"?`,
			`bench.toml:75: position "1": circuit "a": feed: found "fed", which is no channel, want a pressure channel (trapped, feed), or feed = "unmeasured" where the feed side has no transducer`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := bench.Parse("bench.toml", []byte(broken(t, small, c.edits...)))
			assert.Equal(t, c.want, lines(err))
			for _, e := range faults(err) {
				assert.IsType(t, &strict.Error{}, e)
			}
		})
	}
}

// faults are the errors that an error joins.
func faults(err error) []error {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		return joined.Unwrap()
	}
	return nil
}
