package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/modbus"
)

// trappedPlace is where the first channel of small stands, to be replaced.
const trappedPlace = "function = 4\nregister = 0\ntype = \"int16\""

func TestEveryPlaceOnAModbusInstrument(t *testing.T) {
	for _, c := range []struct {
		name, place string
		function    int
		register    int
		format      modbus.Format
	}{
		{"as an address", trappedPlace, 4, 0, modbus.Format{}},
		{"number of an input register", "number = 30007\ntype = \"uint16\"", 4, 6, modbus.Format{Type: modbus.Uint16}},
		{"number of a holding register", "number = 40001\ntype = \"int16\"", 3, 0, modbus.Format{}},
		{"six digits", "number = 465535\ntype = \"uint32\"\nword_order = \"low-first\"", 3, 65534, modbus.Format{Type: modbus.Uint32, LowWordFirst: true}},
		{"number beside its function", "number = 30007\nfunction = 4\ntype = \"int16\"", 4, 6, modbus.Format{}},
		{"four registers", "number = 400011\ntype = \"float64\"\nword_order = \"high-first\"\nbyte_order = \"low-first\"", 3, 10, modbus.Format{Type: modbus.Float64, LowByteFirst: true}},
		{"swapped bytes", "function = 3\nregister = 9\ntype = \"int16\"\nbyte_order = \"low-first\"", 3, 9, modbus.Format{LowByteFirst: true}},
		{"a bit field", "function = 3\nregister = 9\ntype = \"uint16\"\nbits = [4, 12]", 3, 9, modbus.Format{Type: modbus.Uint16, First: 4, Count: 12}},
		{"over two registers", "function = 3\nregister = 9\ntype = \"int32\"\nword_order = \"high-first\"\nbits = [8, 24]", 3, 9, modbus.Format{Type: modbus.Int32, First: 8, Count: 24}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, err := bench.Parse("bench.toml", []byte(broken(t, small, trappedPlace, c.place)))
			require.NoError(t, err)
			assert.Equal(t, c.function, b.Channels[0].Function)
			assert.Equal(t, c.register, b.Channels[0].Register)
			assert.Equal(t, c.format, b.Channels[0].Format())
		})
	}
}

// A state in place of the room's temperature, on the module.
const roomPlace = "name = \"room\"\nquantity = \"temperature\"\ninstrument = \"probe\"\ncolumn = 2\nraw_unit = \"°C\""

func stateAt(place string) []string {
	return []string{"temperature_channel = \"room\"\n", "\n", roomPlace, "name = \"pump\"\nquantity = \"state\"\ninstrument = \"module\"\n" + place}
}

func TestStatesOfAModbusInstrument(t *testing.T) {
	for place, want := range map[string]struct{ function, register int }{
		"function = 1\nregister = 0":                               {1, 0},
		"function = 2\nregister = 7\ntype = \"bit\"":               {2, 7},
		"number = 10008":                                           {2, 7},
		"number = 8":                                               {1, 7},
		"number = \"010001\"":                                      {1, 10000},
		"number = 40002\ntype = \"bit\"\nbits = [15, 1]":           {3, 1},
		"function = 4\nregister = 1\ntype = \"bit\"\nbits = [0,1]": {4, 1},
	} {
		b, err := bench.Parse("bench.toml", []byte(broken(t, small, stateAt(place)...)))
		require.NoError(t, err, place)
		last := b.Channels[len(b.Channels)-1]
		assert.Equal(t, want.function, last.Function, place)
		assert.Equal(t, want.register, last.Register, place)
	}
}

func TestEachFaultOfAModbusInstrument(t *testing.T) {
	tcp := func(link, address string) []string {
		return []string{"kind = \"modbus-rtu\"\nlink = \"bus\"\naddress = 1", "kind = \"modbus-tcp\"\nlink = \"" + link + "\"\n" + address}
	}
	const numbers = `a number from 1 to 9999 for a coil, from 10001 to 19999 for a discrete input, from 30001 to 39999 for an input register, ` +
		`from 40001 to 49999 for a holding register, or one of six digits`
	at := func(place string) []string { return []string{trappedPlace, place} }
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"tcp on a serial port", tcp("bus", ""), []string{
			`bench.toml:17: instrument "module": link: found "bus", a serial port, want a link with port = "tcp://host:502", or kind = "modbus-rtu"`}},
		{"unit too high", append(tcp("bus", "address = 256"), `port = "COM3"`, `port = "tcp://10.0.0.8:502"`), []string{
			`bench.toml:18: instrument "module": address: found 256, want a whole number from 0 to 255`}},
		{"two kinds on a link", []string{`kind = "text-stream"`, `kind = "modbus-tcp"`, `link = "wire"`, `link = "bus"`, "separator = \";\"\n", "", `port = "COM3"`, `port = "tcp://10.0.0.8:502"`,
			"column = 1", "number = 30101\ntype = \"int16\"", "column = 2", "number = 30102\ntype = \"int16\""}, []string{
			`bench.toml:23: instrument "probe": link: found "bus", which speaks modbus-rtu with instrument "module", want a link of its own for each kind`}},
		{"bridge too far", []string{"address = 1", "address = 1\nbridge = 124"}, []string{
			`bench.toml:19: instrument "module": bridge: found 124, want a whole number from 0 to 123`}},
		{"bridge of a stream", []string{`separator = ";"`, "separator = \";\"\nbridge = 2"}, []string{
			`bench.toml:25: instrument "probe": bridge: found 2, want no such key here (modbus-rtu, modbus-tcp only)`}},

		{"no such number", at("number = 20001\ntype = \"int16\""), []string{`bench.toml:30: channel "trapped": number: found 20001, want ` + numbers}},
		{"number 40000", at("number = 40000\ntype = \"int16\""), []string{`bench.toml:30: channel "trapped": number: found 40000, want ` + numbers}},
		{"number and register", at("number = 40001\nregister = 0\ntype = \"int16\""), []string{
			`bench.toml:31: channel "trapped": register: found 0, want no such key here (number says it)`}},
		{"number of another function", at("number = 40001\nfunction = 4\ntype = \"int16\""), []string{
			`bench.toml:31: channel "trapped": function: found 4 beside number 40001, which is register 0 of function 3, want no function, or 3; register 0 of function 4 has number 30001`}},
		{"neither", at("type = \"int16\""), []string{
			`bench.toml:26: channel "trapped": function: found nothing, want a whole number from 1 to 4`,
			`bench.toml:26: channel "trapped": register: found nothing, want a whole number from 0 to 65535`}},
		{"beyond the last", at("number = 365534\ntype = \"float64\"\nword_order = \"high-first\""), []string{
			`bench.toml:30: channel "trapped": number: found 365534, want at most 365533 for float64, which takes four registers`}},
		{"byte order", at("function = 4\nregister = 0\ntype = \"int16\"\nbyte_order = \"little\""), []string{
			`bench.toml:33: channel "trapped": byte_order: found "little", want "high-first" or "low-first"`}},
		{"a coil as a pressure", at("function = 1\nregister = 0"), []string{
			`bench.toml:30: channel "trapped": function: found 1, a coil or input, which is on or off, want functions 3 or 4 for a pressure, or quantity = "state"`}},
		{"an input as a pressure", at("number = 10001"), []string{
			`bench.toml:30: channel "trapped": number: found 10001, a coil or input, which is on or off, want functions 3 or 4 for a pressure, or quantity = "state"`}},
		{"a bit as a pressure", at("function = 4\nregister = 0\ntype = \"bit\"\nbits = [0, 1]"), []string{
			`bench.toml:32: channel "trapped": type: found "bit" for a pressure, want an integer with bits = [first, count], or quantity = "state"`}},
		{"bits of a float", at("function = 4\nregister = 4\ntype = \"float32\"\nword_order = \"high-first\"\nbits = [0, 8]"), []string{
			`bench.toml:34: channel "trapped": bits: found [0, 8], want no such key here (integers and bit only)`}},
		{"bits beyond the end", at("function = 4\nregister = 0\ntype = \"int16\"\nbits = [8, 9]"), []string{
			`bench.toml:33: channel "trapped": bits: found [8, 9], want the first bit, counted from 0, the least, and how many, e.g. [4, 3], all within the 16 of int16`}},
		{"bits overlap", append(at("function = 4\nregister = 0\ntype = \"uint16\"\nbits = [0, 9]"), "register = 2\ntype = \"float32\"\nword_order = \"high-first\"", "register = 0\ntype = \"uint16\"\nbits = [8, 4]"), []string{
			`bench.toml:52: channel "feed": register: found 0 (bits 8 to 11 of uint16), which overlaps channel "trapped" (bits 0 to 8 of uint16), want registers of its own`}},
		{"bits side by side", append(at("function = 4\nregister = 0\ntype = \"uint16\"\nbits = [0, 8]"), "register = 2\ntype = \"float32\"\nword_order = \"high-first\"", "register = 0\ntype = \"uint16\"\nbits = [8, 4]"), nil},
		{"number overlaps", at("number = 30004\ntype = \"int16\""), []string{
			`bench.toml:50: channel "feed": register: found 2 (float32), which overlaps channel "trapped" (int16), want registers of its own`}},

		{"a whole register as a state", stateAt("function = 4\nregister = 9\ntype = \"int16\""), []string{
			`bench.toml:69: channel "pump": type: found "int16" for a state, want "bit", with bits = [which, 1]`}},
		{"which bit", stateAt("function = 4\nregister = 9\ntype = \"bit\""), []string{
			`bench.toml:63: channel "pump": bits: found nothing, want which bit of the register, from 0, the least, to 15, and 1, e.g. [3, 1]`}},
		{"two bits", stateAt("function = 4\nregister = 9\ntype = \"bit\"\nbits = [3, 2]"), []string{
			`bench.toml:70: channel "pump": bits: found [3, 2], want which bit of the register, from 0, the least, to 15, and 1, e.g. [3, 1]`}},
		{"a coil with an order", stateAt("function = 1\nregister = 9\nword_order = \"high-first\"\nbits = [0, 1]"), []string{
			`bench.toml:69: channel "pump": word_order: found "high-first", want no such key here (registers only, functions 3 and 4)`,
			`bench.toml:70: channel "pump": bits: found [0, 1], want no such key here (registers only, functions 3 and 4)`}},
		{"a coil with a number's type", stateAt("function = 1\nregister = 9\ntype = \"int16\""), []string{
			`bench.toml:69: channel "pump": type: found "int16", want "bit"`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := bench.Parse("bench.toml", []byte(broken(t, small, c.edits...)))
			assert.Equal(t, c.want, lines(err))
		})
	}
}

func TestModbusTCPNeedsNoAddress(t *testing.T) {
	b, err := bench.Parse("bench.toml", []byte(broken(t, small, "kind = \"modbus-rtu\"", "kind = \"modbus-tcp\"", "address = 1\n", "",
		`port = "COM3"`, `port = "tcp://10.0.0.8:502"`, "baud = 19200\nparity = \"even\"\n", "")))
	require.NoError(t, err)
	assert.Equal(t, modbus.NoUnit, b.Instruments[0].Address)
}

func TestRawOffset(t *testing.T) {
	_, err := bench.Parse("bench.toml", []byte(broken(t, small, "raw_scale = 0.001", "raw_scale = 0.001\nraw_offset = inf")))
	assert.Equal(t, []string{`bench.toml:34: channel "trapped": raw_offset: found inf, want a number, in raw_unit`}, lines(err))
	b, err := bench.Parse("bench.toml", []byte(broken(t, small, "raw_scale = 0.001", "raw_scale = 0.001\nraw_offset = -4")))
	require.NoError(t, err)
	assert.Equal(t, -4.0, b.Channels[0].RawOffset)
}

// pumpOutput is an output at some place.
func pumpOutput(place string) string {
	return "outputs = true\n" + small + "[[output]]\nname = \"pump\"\nrole = \"pump\"\ninstrument = \"module\"\n" + place
}

func TestOutputsOfAModbusInstrument(t *testing.T) {
	for place, want := range map[string]struct {
		function, register int
		on, off            uint16
	}{
		"function = 5\nregister = 3":                                             {5, 3, 1, 0},
		"number = 4":                                                             {5, 3, 1, 0},
		"number = 4\nfunction = 15":                                              {15, 3, 1, 0},
		"number = 40101\non_value = 170\noff_value = 85":                         {6, 100, 170, 85},
		"function = 16\nregister = 100\nbits = [4, 1]":                           {16, 100, 0xFFDF | 0x10, 0xFFCF},
		"function = 6\nregister = 100\nbits = [4, 2]\non_value = 2\noff_value=1": {6, 100, 0x20, 0x10},
	} {
		b, err := bench.Parse("bench.toml", []byte(pumpOutput(place)))
		require.NoError(t, err, place)
		o := b.Outputs[0]
		assert.Equal(t, want.function, o.Function, place)
		assert.Equal(t, want.register, o.Register, place)
		assert.True(t, o.Switched(want.on), place)
		assert.False(t, o.Switched(want.off), place)
	}
	for place, want := range map[string]string{
		"function = 3\nregister = 3":             `function: found 3, want 5 or 15 for a coil, 6 or 16 for a holding register`,
		"number = 30001":                         `number: found 30001, want a number from 1 to 9999 for a coil, from 40001 to 49999 for a holding register, or one of six digits`,
		"number = 40004\nfunction = 5":           `function: found 5 beside number 40004, which is register 3 of function 6, want no function, or 6; register 3 of function 5 has number 4`,
		"number = 40004\noff_value = 1":          `off_value: found 1 for both on and off, want two different values of on_value and off_value`,
		"number = 40004\non_value = 65536":       `on_value: found 65536, want a whole number from 0 to 65535`,
		"number = 40004\nbits=[3,1]\non_value=2": `on_value: found 2, want a whole number from 0 to 1`,
		"number = 4\non_value = 1":               `on_value: found 1, want no such key here (registers only, functions 6 and 16)`,
	} {
		_, err := bench.Parse("bench.toml", []byte(pumpOutput(place)))
		require.Error(t, err, place)
		require.Len(t, lines(err), 1, "%s: %v", place, err)
		assert.Contains(t, err.Error(), `output "pump": `+want, place)
	}
}

func TestTwoOutputsAreTwo(t *testing.T) {
	second := func(place string) string {
		return pumpOutput("number = 40004\nbits = [0, 1]") + "\n[[output]]\nname = \"vent\"\nrole = \"vent\"\ninstrument = \"module\"\n" + place
	}
	_, err := bench.Parse("bench.toml", []byte(second("number = 40004\nbits = [1, 1]")))
	require.NoError(t, err)
	_, err = bench.Parse("bench.toml", []byte(second("number = 4")))
	require.NoError(t, err)
	_, err = bench.Parse("bench.toml", []byte(second("number = 40004")))
	require.ErrorContains(t, err, `output "vent": number: found 40004, which output "pump" switches already, want an output of its own`)
}
