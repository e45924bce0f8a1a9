// Package modbus knows the Modbus protocol as a master that reads and, where
// it is told to, writes: the frames of a serial line (RTU) and of TCP (MBAP),
// and the exchange over a link. It never broadcasts.
//
// Conventions: addresses are protocol addresses, from 0; the numbers of
// manuals (40001 and the like) are those of Number. Coils and discrete inputs
// are values of 0 and 1.
//
// Sources:
//
//	[1] MODBUS over Serial Line, Specification and Implementation Guide
//	    V1.02 (2006).
//	[2] MODBUS Application Protocol Specification V1.1b3 (2012).
//	[3] MODBUS Messaging on TCP/IP Implementation Guide V1.0b (2006) (mark M).
package modbus

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// The functions that this master uses, [2] sections 6.1 to 6.6, 6.11, 6.12.
const (
	ReadCoils      byte = 1
	ReadDiscrete   byte = 2 // discrete inputs
	ReadHolding    byte = 3 // holding registers
	ReadInput      byte = 4 // input registers
	WriteCoil      byte = 5
	WriteRegister  byte = 6
	WriteCoils     byte = 15
	WriteRegisters byte = 16
)

// The most that one request may ask for or write; [2], same sections.
const (
	MaxCoils          = 2000
	MaxRegisters      = 125
	MaxWriteCoils     = 1968
	MaxWriteRegisters = 123
)

// most is the largest count of a request by its function.
var most = map[byte]int{
	ReadCoils: MaxCoils, ReadDiscrete: MaxCoils, ReadHolding: MaxRegisters, ReadInput: MaxRegisters,
	WriteCoil: 1, WriteRegister: 1, WriteCoils: MaxWriteCoils, WriteRegisters: MaxWriteRegisters,
}

// Words of function 5 for on and off, [2] section 6.5.
const (
	coilOn  = 0xFF00
	coilOff = 0x0000
)

// What can be wrong with a frame; all but ErrOther, ErrValue and ErrLimit mean
// that the bytes are not a whole frame.
var (
	ErrShort  = errors.New("frame too short")
	ErrCRC    = errors.New("check sum wrong")
	ErrLength = errors.New("length does not fit")
	// ErrValue: a coil is written with a word that is neither on nor off.
	ErrValue = errors.New("neither on nor off")
	// ErrOther: a sound frame that is no answer to the request: another
	// address, another function or another number of values.
	ErrOther = errors.New("answer to something else")
	// ErrLimit: a request that may not be sent.
	ErrLimit = errors.New("no such request")
)

// Request asks one slave for coils, inputs or registers, or writes them.
type Request struct {
	Address  byte // of the slave, 1–247; over TCP the unit identifier, 0–255
	Function byte
	Start    uint16
	Count    uint16 // 1–2000 coils, 1–125 registers; 1 for functions 5 and 6
	// Values are what is written, Count of them, 0 or 1 for coils; nil for a
	// request that reads.
	Values []uint16
}

// Write is the request that writes values from start on.
func Write(address, function byte, start uint16, values ...uint16) Request {
	return Request{Address: address, Function: function, Start: start, Count: uint16(len(values)), Values: values}
}

// Writes says whether the request changes something in the slave.
func (r Request) Writes() bool {
	switch r.Function {
	case WriteCoil, WriteRegister, WriteCoils, WriteRegisters:
		return true
	}
	return false
}

// coils says whether the request is about bits.
func (r Request) coils() bool {
	switch r.Function {
	case ReadCoils, ReadDiscrete, WriteCoil, WriteCoils:
		return true
	}
	return false
}

// Check says why a request may not be sent: ErrLimit, with what is wrong.
//
// Source: [2] sections 6.1 to 6.12, the ranges of quantities and values.
func (r Request) Check() error {
	limit, known := most[r.Function]
	switch {
	case !known:
		return fmt.Errorf("%w: function %d", ErrLimit, r.Function)
	case r.Count < 1 || int(r.Count) > limit:
		return fmt.Errorf("%w: function %d with %d values, where 1 to %d may be", ErrLimit, r.Function, r.Count, limit)
	case int(r.Start)+int(r.Count) > 1<<16:
		return fmt.Errorf("%w: %d values from %d on, where 65535 is the last", ErrLimit, r.Count, r.Start)
	case r.Writes() && len(r.Values) != int(r.Count), !r.Writes() && r.Values != nil:
		return fmt.Errorf("%w: function %d with %d values for %d", ErrLimit, r.Function, len(r.Values), r.Count)
	}
	for _, v := range r.Values {
		if r.coils() && v > 1 {
			return fmt.Errorf("%w: coil written with %d, where 0 or 1 may be", ErrLimit, v)
		}
	}
	return nil
}

// pdu returns the request without what the line adds.
// It panics when a request that writes has no values.
func (r Request) pdu() []byte {
	b := []byte{r.Function}
	b = binary.BigEndian.AppendUint16(b, r.Start)
	if r.Writes() && len(r.Values) != int(r.Count) || r.Writes() && r.Count == 0 {
		panic("modbus: a request that writes, without its values")
	}
	switch r.Function {
	case WriteCoil:
		word := uint16(coilOff)
		if r.Values[0] != 0 {
			word = coilOn
		}
		return binary.BigEndian.AppendUint16(b, word)
	case WriteRegister:
		return binary.BigEndian.AppendUint16(b, r.Values[0])
	}
	b = binary.BigEndian.AppendUint16(b, r.Count)
	switch r.Function {
	case WriteCoils:
		b = append(b, byte(bytesOfBits(len(r.Values))))
		return appendBits(b, r.Values)
	case WriteRegisters:
		b = append(b, byte(2*len(r.Values)))
		return appendRegisters(b, r.Values)
	}
	return b
}

// parseRequest reads a request without what the line adds, for whoever plays
// the slave. The function may be any that takes a start and a count. Limits
// are the slave's business. The errors are ErrShort, ErrLength and ErrValue;
// with them comes what is known of the request.
func parseRequest(address byte, pdu []byte) (Request, error) {
	r := Request{Address: address}
	if len(pdu) == 0 {
		return r, ErrShort
	}
	r.Function = pdu[0]
	length, err := requestLength(pdu)
	switch {
	case err != nil:
		return r, err
	case len(pdu) < length:
		return r, ErrShort
	case len(pdu) > length:
		return r, ErrLength
	}
	r.Start = binary.BigEndian.Uint16(pdu[1:])
	word := binary.BigEndian.Uint16(pdu[3:])
	switch r.Function {
	case WriteCoil:
		r.Count, r.Values = 1, []uint16{0}
		if word == coilOn {
			r.Values[0] = 1
		} else if word != coilOff {
			return r, ErrValue
		}
		return r, nil
	case WriteRegister:
		r.Count, r.Values = 1, []uint16{word}
		return r, nil
	}
	r.Count = word
	switch {
	case r.Function == WriteCoils && int(pdu[5]) == bytesOfBits(int(r.Count)):
		r.Values = bits(pdu[6:], int(r.Count))
	case r.Function == WriteRegisters && int(pdu[5]) == 2*int(r.Count):
		r.Values = registers(pdu[6:])
	case r.Writes():
		return r, ErrLength
	}
	if r.Writes() && r.Count == 0 {
		return r, ErrLength
	}
	return r, nil
}

// requestLength returns how long the request is that begins here, without what
// the line adds: ErrShort when that cannot be seen yet.
func requestLength(pdu []byte) (int, error) {
	if pdu[0] != WriteCoils && pdu[0] != WriteRegisters {
		return 5, nil
	}
	if len(pdu) < 6 {
		return 0, ErrShort
	}
	return 6 + int(pdu[5]), nil
}
