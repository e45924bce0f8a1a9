// Package modbus knows the Modbus RTU protocol as a master that reads: the
// frames, and the exchange over a link. It writes no register, ever.
//
// Sources:
//
//	[1] MODBUS over Serial Line, Specification and Implementation Guide
//	    V1.02 (2006).
//	[2] MODBUS Application Protocol Specification V1.1b3 (2012).
package modbus

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// The functions that this master uses.
const (
	ReadHolding byte = 3 // read holding registers, [2] section 6.3
	ReadInput   byte = 4 // read input registers, [2] section 6.4
)

// MaxRegisters is the most that one request may ask for, [2] section 6.3.
const MaxRegisters = 125

// exceptionBit marks a reply that carries an exception, [2] section 7.
const exceptionBit = 0x80

// What can be wrong with a frame; all but ErrOther mean that the bytes are
// not a whole frame.
var (
	ErrShort  = errors.New("frame too short")
	ErrCRC    = errors.New("check sum wrong")
	ErrLength = errors.New("length does not fit")
	// ErrOther: a sound frame that is no answer to the request: another
	// address, another function or another number of registers.
	ErrOther = errors.New("answer to something else")
)

// CRC returns the check of a message, the low byte of which is sent first.
//
// Source: [1] section 2.5.1.2 and 6.2.2 (polynomial A001 reflected, preset
// FFFF).
func CRC(message []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range message {
		crc ^= uint16(b)
		for range 8 {
			odd := crc&1 == 1
			crc >>= 1
			if odd {
				crc ^= 0xA001
			}
		}
	}
	return crc
}

// appendCRC ends a frame that begins at b[0].
func appendCRC(b []byte) []byte { return binary.LittleEndian.AppendUint16(b, CRC(b)) }

// sound says whether a frame's last two bytes are its check.
func sound(frame []byte) bool {
	n := len(frame) - 2
	return n >= 2 && binary.LittleEndian.Uint16(frame[n:]) == CRC(frame[:n])
}

// Request asks one slave for registers.
type Request struct {
	Address  byte // 1–247
	Function byte // ReadHolding or ReadInput
	Start    uint16
	Count    uint16 // 1–MaxRegisters
}

// requestLength is the number of bytes of a request with its check.
const requestLength = 8

// Frame returns the request as sent, with its check.
func (r Request) Frame() []byte {
	b := []byte{r.Address, r.Function}
	b = binary.BigEndian.AppendUint16(b, r.Start)
	b = binary.BigEndian.AppendUint16(b, r.Count)
	return appendCRC(b)
}

// ReplyLength is the number of bytes of the frame that answers the request
// with registers.
func (r Request) ReplyLength() int { return 5 + 2*int(r.Count) }

// ParseRequest reads a request frame, for whoever plays the slave. The
// function may be any that takes a start and a count. The errors are
// ErrShort, ErrLength and ErrCRC.
func ParseRequest(frame []byte) (Request, error) {
	switch {
	case len(frame) < requestLength:
		return Request{}, ErrShort
	case len(frame) > requestLength:
		return Request{}, ErrLength
	case !sound(frame):
		return Request{}, ErrCRC
	}
	return Request{
		Address:  frame[0],
		Function: frame[1],
		Start:    binary.BigEndian.Uint16(frame[2:]),
		Count:    binary.BigEndian.Uint16(frame[4:]),
	}, nil
}

// Reply returns the frame by which a slave answers r with registers.
// It panics when there are more registers than a frame can carry.
func (r Request) Reply(registers []uint16) []byte {
	if len(registers) > MaxRegisters {
		panic("modbus: more registers than a frame can carry")
	}
	b := []byte{r.Address, r.Function, byte(2 * len(registers))}
	for _, v := range registers {
		b = binary.BigEndian.AppendUint16(b, v)
	}
	return appendCRC(b)
}

// Refusal returns the frame by which a slave answers r with an exception.
func (r Request) Refusal(x Exception) []byte {
	return appendCRC([]byte{r.Address, r.Function | exceptionBit, byte(x)})
}

// Parse reads the frame that answers r. The errors are ErrShort, ErrLength,
// ErrCRC, ErrOther, or an Exception.
func (r Request) Parse(frame []byte) ([]uint16, error) {
	length, err := frameLength(frame)
	switch {
	case err != nil:
		return nil, err
	case len(frame) < length:
		return nil, ErrShort
	case len(frame) > length:
		return nil, ErrLength
	case !sound(frame):
		return nil, ErrCRC
	case frame[0] != r.Address, frame[1]&^exceptionBit != r.Function:
		return nil, ErrOther
	case frame[1]&exceptionBit != 0:
		return nil, Exception(frame[2])
	case length != r.ReplyLength():
		return nil, ErrOther
	}
	registers := make([]uint16, r.Count)
	for i := range registers {
		registers[i] = binary.BigEndian.Uint16(frame[3+2*i:])
	}
	return registers, nil
}

// frameLength returns how long the frame is that begins here, if it is a
// reply to a request of ours: ErrShort when that cannot be seen yet,
// ErrLength when it is no such reply.
func frameLength(b []byte) (int, error) {
	if len(b) < 3 {
		return 0, ErrShort
	}
	switch b[1] {
	case ReadHolding | exceptionBit, ReadInput | exceptionBit:
		return 5, nil
	case ReadHolding, ReadInput:
		if n := int(b[2]); n > 0 && n%2 == 0 && n <= 2*MaxRegisters {
			return 5 + n, nil
		}
	}
	return 0, ErrLength
}

// Exception is the code by which a slave says that it will not answer.
type Exception byte

// exceptions by code, [2] section 7.
var exceptions = map[Exception]string{
	0x01: "illegal function",
	0x02: "illegal data address",
	0x03: "illegal data value",
	0x04: "server device failure",
	0x05: "acknowledge",
	0x06: "server device busy",
	0x08: "memory parity error",
	0x0A: "gateway path unavailable",
	0x0B: "gateway target device failed to respond",
}

// Error names the exception as the specification does.
func (x Exception) Error() string {
	name, ok := exceptions[x]
	if !ok {
		name = "not in the specification"
	}
	return fmt.Sprintf("exception %d, %s", byte(x), name)
}
