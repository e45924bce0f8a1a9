package bench

import (
	"fmt"
	"strconv"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/modbus"
	"holdbench/daq/strict"
)

// modbusRTU is a slave on a serial line, or behind a device server that passes
// its bytes through.
var modbusRTU = onModbus(kind{
	name: ModbusRTU,
	instrument: func(i *Instrument, on *Link, t *strict.Table) {
		i.Address = t.Required("address").Int(1, 247)
		i.Bridge = bridge(t)
		if on != nil && on.DataBits == 7 {
			link := t.Required("link")
			link.Fault(strict.Quote(i.Link)+" with 7 data bits", "a link with data_bits = 8, as Modbus RTU sends bytes")
		}
	},
	open: openModbus(func(w *wire) modbus.Master { return modbus.NewClient(w.port, w.clock) }),
})

// modbusTCP is a unit that speaks Modbus TCP, or a slave behind a gateway that
// does.
var modbusTCP = onModbus(kind{
	name: ModbusTCP,
	instrument: func(i *Instrument, on *Link, t *strict.Table) {
		i.Address = modbus.NoUnit
		if k := t.Optional("address"); k.Given() {
			i.Address = k.Int(0, 255)
		}
		i.Bridge = bridge(t)
		if on != nil && on.Port != "" && !strings.HasPrefix(on.Port, TCPPrefix) {
			link := t.Required("link")
			link.Fault(strict.Quote(i.Link)+", a serial port", `a link with port = "tcp://host:502", or kind = "modbus-rtu"`)
		}
	},
	open: openModbus(func(w *wire) modbus.Master { return modbus.NewTCPClient(w.port, w.clock) }),
})

// onModbus adds what the kinds have in common.
func onModbus(k kind) kind {
	k.instrumentKeys = []string{"address", "bridge"}
	k.channelKeys = []string{"function", "register", "number", "type", "word_order", "byte_order", "bits"}
	k.place, k.same = modbusPlace, sameRegisters
	k.outputKeys = []string{"function", "register", "number", "on_value", "off_value", "bits"}
	k.outputPlace, k.sameOutput = modbusOutput, sameOutput
	k.drive = driveModbus
	return k
}

// mostBridged is the widest gap that a request may bridge.
const mostBridged = modbus.MaxRegisters - 2

func bridge(t *strict.Table) int {
	k := t.Optional("bridge")
	if !k.Given() {
		return 0
	}
	return k.Int(0, mostBridged)
}

func modbusPlace(c *Channel, _ Instrument, t *strict.Table) {
	function := t.Optional("function")
	var at strict.Key
	c.Function, c.Register, at = modbusAddress(t, map[byte]int{1: 1, 2: 2, 3: 3, 4: 4})
	c.Number = ""
	if t.Has("number") {
		c.Number = at.Found()
	}
	if c.Function == int(modbus.ReadCoils) || c.Function == int(modbus.ReadDiscrete) {
		coilPlace(c, function, at, t)
		return
	}
	registerPlace(c, at, t)
}

// coilPlace reads what is left of a coil or discrete input.
func coilPlace(c *Channel, function, at strict.Key, t *strict.Table) {
	if k := t.Optional("type"); k.Given() {
		k.OneOf("bit")
	}
	c.Type = "bit"
	for _, key := range []string{"word_order", "byte_order", "bits"} {
		t.Optional(key).Refuse("registers only, functions 3 and 4")
	}
	if !c.State && c.Quantity != si.Dimensionless {
		if !function.Given() {
			function = at
		}
		function.Fault(function.Found()+", a coil or input, which is on or off", `functions 3 or 4 for a `+c.Quantity.String()+`, or quantity = "state"`)
	}
}

// modbusTypes by the words of bench files.
var modbusTypes = map[string]modbus.Type{
	"int16": modbus.Int16, "uint16": modbus.Uint16, "int32": modbus.Int32, "uint32": modbus.Uint32,
	"float32": modbus.Float32, "float64": modbus.Float64, "bit": modbus.Bit,
}

// registerPlace reads what is left of a number in registers.
func registerPlace(c *Channel, at strict.Key, t *strict.Table) {
	kind := t.Required("type")
	c.Type = kind.OneOf("int16", "uint16", "int32", "uint32", "float32", "float64", "bit")
	word, bytes, bits := t.Optional("word_order"), t.Optional("byte_order"), t.Optional("bits")
	if bytes.Given() {
		c.ByteOrder = bytes.OneOf("high-first", "low-first")
	}
	if c.Type == "" {
		return
	}
	n := modbusTypes[c.Type].Registers()
	if n > 1 {
		c.WordOrder = t.Required("word_order").OneOf("high-first", "low-first")
		if c.Register+n > 1<<16 {
			at.Fault(at.Found(), fmt.Sprintf("at most %s for %s, which takes %s registers", lastOf(*c, n), c.Type, map[int]string{2: "two", 4: "four"}[n]))
		}
	} else {
		word.Refuse("int32, uint32, float32, float64 only")
	}
	switch {
	case c.State && c.Type != "bit":
		kind.Fault(strict.Quote(c.Type)+" for a state", `"bit", with bits = [which, 1]`)
	case !c.State && c.Type == "bit" && c.Quantity != si.Dimensionless:
		kind.Fault(`"bit" for a `+c.Quantity.String(), `an integer with bits = [first, count], or quantity = "state"`)
	}
	if c.Type == "bit" {
		bits = t.Required("bits")
	}
	c.BitFirst, c.BitCount = bitField(bits, c.Type)
}

// lastOf is the last place where a number of n registers may begin, written as
// the file writes it.
func lastOf(c Channel, n int) string {
	last := uint16(1<<16 - n)
	if c.Number != "" {
		return modbus.Number(byte(c.Function), last)
	}
	return strconv.Itoa(int(last))
}

// bitField reads bits = [first, count] of a type; 0, 0 where absent.
func bitField(k strict.Key, word string) (first, count int) {
	kind := modbusTypes[word]
	if kind.Float() {
		k.Refuse("integers and bit only")
		return 0, 0
	}
	width := 16 * kind.Registers()
	want := fmt.Sprintf("the first bit, counted from 0, the least, and how many, e.g. [4, 3], all within the %d of %s", width, word)
	if word == "bit" {
		want = "which bit of the register, from 0, the least, to 15, and 1, e.g. [3, 1]"
	}
	if !k.Given() && word != "bit" {
		return 0, 0
	}
	a, b, ok := k.Pair("first", "count", want)
	if !ok {
		return 0, 0
	}
	first, count = a.Int(0, width-1), b.Int(1, width)
	if first+count > width || word == "bit" && count > 1 {
		k.Fault(k.Found(), want)
	}
	return first, count
}

// modbusAddress reads function and register, or number. functions are those
// that read what may be meant, each with the one that its numbers stand for
// where function is not given.
func modbusAddress(t *strict.Table, functions map[byte]int) (function, register int, at strict.Key) {
	f, r, n := t.Optional("function"), t.Optional("register"), t.Optional("number")
	if !n.Given() {
		r = t.Required("register")
		return oneOfFunctions(t.Required("function"), functions), r.Int(0, 65535), r
	}
	r.Refuse("number says it")
	text := n.Written()
	if text == "" {
		text = n.Found()
	}
	read, start, ok := modbus.ParseNumber(text)
	meant := functions[read]
	if !ok || meant == 0 {
		n.Fault(n.Found(), numbersOf(functions))
		return 0, 0, n
	}
	if !f.Given() {
		return meant, int(start), n
	}
	given := oneOfFunctions(f, functions)
	if given != 0 && functions[modbus.Request{Function: byte(given)}.Reads()] != meant {
		f.Fault(fmt.Sprintf("%d beside number %s, which is register %d of function %d", given, n.Found(), start, meant),
			fmt.Sprintf("no function, or %d; register %d of function %d has number %s", meant, start, given, modbus.Number(byte(given), start)))
	}
	return given, int(start), n
}

// oneOfFunctions reads a function.
func oneOfFunctions(k strict.Key, functions map[byte]int) int {
	if functions[modbus.ReadInput] != 0 {
		return k.Int(1, 4)
	}
	n := int(k.Number("5 or 15 for a coil, 6 or 16 for a holding register", func(x float64) bool {
		return x == 5 || x == 15 || x == 6 || x == 16
	}))
	return n
}

// numbersOf names the numbers that may be.
func numbersOf(functions map[byte]int) string {
	if functions[modbus.ReadInput] == 0 {
		return "a number from 1 to 9999 for a coil, from 40001 to 49999 for a holding register, or one of six digits"
	}
	return "a number from 1 to 9999 for a coil, from 10001 to 19999 for a discrete input, from 30001 to 39999 for an input register, " +
		"from 40001 to 49999 for a holding register, or one of six digits"
}

// Format is how the channel's number stands in registers of a Modbus
// instrument.
func (c Channel) Format() modbus.Format {
	return modbus.Format{
		Type: modbusTypes[c.Type], LowWordFirst: c.WordOrder == "low-first", LowByteFirst: c.ByteOrder == "low-first",
		First: c.BitFirst, Count: c.BitCount,
	}
}

// typeWord is the channel's type as messages name it.
func (c Channel) typeWord() string {
	if c.BitCount > 0 {
		return fmt.Sprintf("bits %d to %d of %s", c.BitFirst, c.BitFirst+c.BitCount-1, c.Type)
	}
	return c.Type
}

func sameRegisters(c, other Channel) (key, found, want string) {
	if c.Function == 0 || c.Type == "" || other.Type == "" || c.Function != other.Function || !overlap(c, other) {
		return "", "", ""
	}
	key = "register"
	if c.Number != "" {
		key = "number"
	}
	return key, " (" + c.typeWord() + "), which overlaps channel " + strict.Quote(other.Name) + " (" + other.typeWord() + ")", "registers of its own"
}

// overlap says whether two channels have a bit of a register in common.
func overlap(c, other Channel) bool {
	if c.Function <= int(modbus.ReadDiscrete) {
		return c.Register == other.Register
	}
	own, others := c.Format().Mask(), other.Format().Mask()
	for i, mask := range own {
		if k := c.Register + i - other.Register; k >= 0 && k < len(others) && mask&others[k] != 0 {
			return true
		}
	}
	return false
}

// openModbus asks over the link's one master, which the first instrument on it
// makes.
func openModbus(master func(*wire) modbus.Master) func(*daq.Source, *wire, Instrument, []Channel) {
	return func(s *daq.Source, w *wire, in Instrument, channels []Channel) {
		if w.master == nil {
			w.master = master(w)
		}
		points := make([]modbus.Point, len(channels))
		for i, c := range channels {
			points[i] = modbus.Point{Function: byte(c.Function), Register: uint16(c.Register), Format: c.Format()}
		}
		instrument := modbus.NewBridging(w.master, byte(in.Address), points, in.Bridge)
		s.Instrument, s.Stamp = instrument, instrument.Stamp
		m := w.master
		s.Counted = func() string { return m.Counts().String() }
	}
}
