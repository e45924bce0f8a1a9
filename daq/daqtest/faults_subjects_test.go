package daqtest_test

import (
	"fmt"
	"math"
	"slices"

	"holdbench/daq/daqtest"
	"holdbench/daq/modbus"
)

// subjects are the kinds of instruments that are tried on faulty lines.
var subjects = []subject{
	{
		name: "modbus-rtu", port: "/dev/none",
		instrument:  "kind = \"modbus-rtu\"\naddress = 17",
		pressure:    "function = 4\nregister = 8\ntype = \"float32\"\nword_order = \"high-first\"",
		temperature: "function = 4\nregister = 10\ntype = \"int16\"",
		answer:      func(request []byte, n int) []byte { return slaveAt(n).Answer(request) },
		other: func(said []byte) []byte { // the one at the next address, with registers of its own
			frame := slices.Clone(said[:len(said)-2])
			frame[0]++
			frame[len(frame)-1] ^= 0x55
			crc := modbus.CRC(frame)
			return append(frame, byte(crc), byte(crc>>8))
		},
	},
	{
		name: "text-stream", port: "/dev/none", streams: true,
		instrument:  "kind = \"text-stream\"\nseparator = \";\"",
		pressure:    "column = 1",
		temperature: "column = 2",
		answer:      func(_ []byte, n int) []byte { return []byte(lineOf(n) + "\r\n") },
		other:       func([]byte) []byte { return []byte(lineOf(4711) + "\r\n") },
		unseen:      func(daqtest.Fault) bool { return true },
	},
}

// slaveAt is a Modbus slave that has answered n times.
func slaveAt(n int) daqtest.Slave {
	p := math.Float32bits(float32(pressureOf(n)))
	return daqtest.Slave{Address: 17, Registers: map[uint16]uint16{
		8: uint16(p >> 16), 9: uint16(p), 10: uint16(temperatureOf(n)),
	}}
}

// lineOf is a line of text as instruments write them: signs, and as many
// digits always.
func lineOf(n int) string { return fmt.Sprintf("%+010.4f;%+07.0f", pressureOf(n), temperatureOf(n)) }
