package daqtest

import (
	"io"

	"holdbench/daq/modbus"
)

// Slave is a Modbus slave of the least kind. It shares the frames with the
// program and so proves nothing about frames.
type Slave struct {
	Address byte
	// Registers are those there are, for functions 3, 4, 6 and 16; Coils
	// those for 1, 2, 5 and 15.
	Registers map[uint16]uint16
	Coils     map[uint16]uint16
}

// Answer returns the frame that answers a request on a serial line, nil when
// the slave is not meant or the request is not sound.
func (s Slave) Answer(request []byte) []byte {
	r, err := modbus.ParseRequest(request)
	if err != nil || r.Address != s.Address {
		return nil
	}
	values, ok := s.do(r)
	if !ok {
		return r.Refusal(modbus.IllegalAddress)
	}
	return r.Reply(values)
}

// AnswerMessage is Answer over Modbus TCP.
func (s Slave) AnswerMessage(request []byte) []byte {
	m, _, err := modbus.NextMessage(request)
	if err != nil {
		return nil
	}
	r, err := m.Request()
	if err != nil || r.Address != s.Address {
		return nil
	}
	values, ok := s.do(r)
	if !ok {
		return r.RefusalMessage(m.Transaction, modbus.IllegalAddress)
	}
	return r.ReplyMessage(m.Transaction, values)
}

// do writes and reads; it fails at what is not there.
func (s Slave) do(r modbus.Request) (values []uint16, ok bool) {
	memory := s.Registers
	if r.Reads() == modbus.ReadCoils || r.Reads() == modbus.ReadDiscrete {
		memory = s.Coils
	}
	values = make([]uint16, r.Count)
	for i := range values {
		at := r.Start + uint16(i)
		v, ok := memory[at]
		if !ok {
			return nil, false
		}
		if r.Writes() {
			memory[at] = r.Values[i]
		}
		values[i] = v
	}
	return values, true
}

// Serve answers requests that come one after another on a stream until
// reading or writing fails.
func (s Slave) Serve(line io.ReadWriter) { Serve(line, s) }

// Serve has several slaves answer on one line until reading or writing fails.
func Serve(line io.ReadWriter, slaves ...Slave) {
	var heard []byte
	buffer := make([]byte, 256)
	for {
		n, err := line.Read(buffer)
		if err != nil {
			return
		}
		heard = append(heard, buffer[:n]...)
		for {
			request, rest := modbus.NextRequest(heard)
			if request == nil {
				break
			}
			for _, s := range slaves {
				if answer := s.Answer(request); answer != nil {
					if _, err := line.Write(answer); err != nil {
						return
					}
				}
			}
			heard = append([]byte(nil), rest...)
		}
	}
}
