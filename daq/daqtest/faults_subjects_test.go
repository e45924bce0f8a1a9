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
		name: "modbus-tcp", port: "tcp://none:502",
		instrument:  "kind = \"modbus-tcp\"\naddress = 17",
		pressure:    "function = 4\nregister = 8\ntype = \"float32\"\nword_order = \"high-first\"",
		temperature: "function = 4\nregister = 10\ntype = \"int16\"",
		answer:      func(request []byte, n int) []byte { return enveloped(request, n) },
		other: func(said []byte) []byte { // the one at the next address, asked by somebody else
			message := slices.Clone(said)
			message[1] += 7
			message[6]++
			message[len(message)-1] ^= 0x55
			return message
		},
		// The message has no check sum: TCP itself sees to it that no bit flips
		// and no byte comes between others.
		unseen: func(f daqtest.Fault) bool {
			return f.Name == daqtest.BitFlipped.Name || f.Name == daqtest.Interleaved.Name
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
	{
		name: "text-stream, CRC-16", port: "/dev/none", streams: true,
		instrument:  "kind = \"text-stream\"\nseparator = \";\"\nchecksum = \"crc16-modbus\"\nchecksum_after = \"*\"",
		pressure:    "column = 1",
		temperature: "column = 2",
		answer:      func(_ []byte, n int) []byte { return []byte(checked(lineOf(n)) + "\r\n") },
		other:       func([]byte) []byte { return []byte(checked(lineOf(4711)) + "\r\n") },
		// A text names no instrument.
		unseen: func(f daqtest.Fault) bool { return f.Name == daqtest.Foreign.Name },
	},
}

// slaveAt is a Modbus slave that has answered n times.
func slaveAt(n int) daqtest.Slave {
	p := math.Float32bits(float32(pressureOf(n)))
	return daqtest.Slave{Address: 17, Registers: map[uint16]uint16{
		8: uint16(p >> 16), 9: uint16(p), 10: uint16(temperatureOf(n)),
	}}
}

// enveloped is the same slave by Modbus TCP: transaction, protocol, length and
// unit stand before what it says, and no check sum after it.
func enveloped(request []byte, n int) []byte {
	crc := modbus.CRC(request[6:])
	answer := slaveAt(n).Answer(append(slices.Clone(request[6:]), byte(crc), byte(crc>>8)))
	if answer == nil {
		return nil
	}
	answer = answer[:len(answer)-2]
	return append([]byte{request[0], request[1], 0, 0, 0, byte(len(answer))}, answer...)
}

// lineOf is a line of text as instruments write them: signs, and as many
// digits always.
func lineOf(n int) string { return fmt.Sprintf("%+010.4f;%+07.0f", pressureOf(n), temperatureOf(n)) }

// checked is a line with its CRC-16 behind an asterisk.
func checked(line string) string { return fmt.Sprintf("%s*%04X", line, modbus.CRC([]byte(line))) }
