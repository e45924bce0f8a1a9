package daqtest

import (
	"io"

	"holdbench/daq/modbus"
)

// Slave is a Modbus slave of the least kind. It shares the frames with the
// program and so proves nothing about frames.
type Slave struct {
	Address   byte
	Registers map[uint16]uint16
}

// Answer returns the frame that answers a request, nil when the slave is not
// meant or the request is not sound.
func (s Slave) Answer(request []byte) []byte {
	r, err := modbus.ParseRequest(request)
	if err != nil || r.Address != s.Address {
		return nil
	}
	registers := make([]uint16, r.Count)
	for i := range registers {
		v, ok := s.Registers[r.Start+uint16(i)]
		if !ok {
			return r.Refusal(0x02)
		}
		registers[i] = v
	}
	return r.Reply(registers)
}

// Serve answers requests that come one after another on a stream until
// reading or writing fails.
func (s Slave) Serve(line io.ReadWriter) {
	var heard []byte
	buffer := make([]byte, 256)
	for {
		n, err := line.Read(buffer)
		if err != nil {
			return
		}
		heard = append(heard, buffer[:n]...)
		for ; len(heard) >= 8; heard = heard[8:] {
			answer := s.Answer(heard[:8])
			if answer == nil {
				continue
			}
			if _, err := line.Write(answer); err != nil {
				return
			}
		}
	}
}
