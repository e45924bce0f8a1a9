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
		numbered: true,
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
		unseen:      bareText,
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
	{
		name: "text-asked", port: "/dev/none",
		instrument:  "kind = \"text-asked\"\nseparator = \",\"\nquery = \"MEAS?\"",
		pressure:    "column = 1\ndecimals = 8",
		temperature: "column = 2\ndecimals = 8",
		answer: func(request []byte, n int) []byte {
			if string(request) != "MEAS?\n" {
				return nil
			}
			return []byte(numbersOf(n) + "\n")
		},
		aside: func(request []byte) []byte {
			if string(request) != "*IDN?\n" {
				return nil
			}
			return []byte("EXAMPLE,METER 7,0042,1.3\n")
		},
		other:  func([]byte) []byte { return []byte(numbersOf(4711) + "\n") },
		unseen: bareText,
	},
}

// bareText says what a text without a check cannot show: digits that were
// changed, left out or mixed, and another instrument's line.
func bareText(f daqtest.Fault) bool {
	for _, unseen := range []daqtest.Fault{daqtest.BitFlipped, daqtest.Interleaved, daqtest.Stolen, daqtest.Foreign} {
		if f.Name == unseen.Name {
			return true
		}
	}
	return false
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

// numbersOf are two numbers as IEEE 488.2 instruments write them (NR3).
func numbersOf(n int) string { return fmt.Sprintf("%+.8E,%+.8E", pressureOf(n), temperatureOf(n)) }
