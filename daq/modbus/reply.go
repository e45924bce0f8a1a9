package modbus

import (
	"bytes"
	"encoding/binary"
)

// exceptionBit marks a reply that carries an exception, [2] section 7.
const exceptionBit = 0x80

// replyPDU returns what a slave answers, without what the line adds: the
// values that were asked for, none for a request that writes.
// It panics when there are more than a frame can carry.
func (r Request) replyPDU(values []uint16) []byte {
	switch {
	case r.Function == WriteCoil || r.Function == WriteRegister:
		return r.pdu()
	case r.Writes():
		return r.pdu()[:5]
	case len(values) > MaxRegisters && !r.coils() || len(values) > MaxCoils:
		panic("modbus: more values than a frame can carry")
	case r.coils():
		return appendBits([]byte{r.Function, byte(bytesOfBits(len(values)))}, values)
	}
	return appendRegisters([]byte{r.Function, byte(2 * len(values))}, values)
}

// replyLength is the number of bytes of the answer without what the line adds.
func (r Request) replyLength() int {
	switch {
	case r.Writes():
		return 5
	case r.coils():
		return 2 + bytesOfBits(int(r.Count))
	}
	return 2 + 2*int(r.Count)
}

// parseReply reads what a slave answers, without what the line adds. Values
// are nil for a request that writes. The errors are ErrShort, ErrLength,
// ErrOther, or an Exception.
func (r Request) parseReply(pdu []byte) ([]uint16, error) {
	length, err := replyPDULength(pdu)
	switch {
	case err != nil:
		return nil, err
	case len(pdu) < length:
		return nil, ErrShort
	case len(pdu) > length:
		return nil, ErrLength
	case pdu[0]&^exceptionBit != r.Function:
		return nil, ErrOther
	case pdu[0]&exceptionBit != 0:
		return nil, Exception(pdu[1])
	case length != r.replyLength():
		return nil, ErrOther
	case r.Writes():
		if !bytes.Equal(pdu, r.replyPDU(nil)) {
			return nil, ErrOther
		}
		return nil, nil
	case r.coils():
		return bits(pdu[2:], int(r.Count)), nil
	}
	return registers(pdu[2:]), nil
}

// replyPDULength returns how long the answer is that begins here, if it is one
// to a request of ours: ErrShort when that cannot be seen yet, ErrLength when
// it is no such answer.
func replyPDULength(pdu []byte) (int, error) {
	if len(pdu) < 2 {
		return 0, ErrShort
	}
	n := int(pdu[1])
	switch pdu[0] {
	case ReadCoils, ReadDiscrete:
		if n > 0 && n <= MaxCoils/8 {
			return 2 + n, nil
		}
	case ReadHolding, ReadInput:
		if n > 0 && n%2 == 0 && n <= 2*MaxRegisters {
			return 2 + n, nil
		}
	case WriteCoil, WriteRegister, WriteCoils, WriteRegisters:
		return 5, nil
	default:
		if _, known := most[pdu[0]&^exceptionBit]; known && pdu[0]&exceptionBit != 0 {
			return 2, nil
		}
	}
	return 0, ErrLength
}

// bytesOfBits is how many bytes hold n bits.
func bytesOfBits(n int) int { return (n + 7) / 8 }

// appendBits packs values, the first in the lowest bit of the first byte; what
// is left of the last byte is 0.
//
// Source: [2] section 6.1.
func appendBits(b []byte, values []uint16) []byte {
	packed := make([]byte, bytesOfBits(len(values)))
	for i, v := range values {
		if v != 0 {
			packed[i/8] |= 1 << (i % 8)
		}
	}
	return append(b, packed...)
}

// bits unpacks n bits.
func bits(b []byte, n int) []uint16 {
	out := make([]uint16, n)
	for i := range out {
		out[i] = uint16(b[i/8] >> (i % 8) & 1)
	}
	return out
}

// appendRegisters writes registers, the high byte first, [2] section 4.2.
func appendRegisters(b []byte, values []uint16) []byte {
	for _, v := range values {
		b = binary.BigEndian.AppendUint16(b, v)
	}
	return b
}

func registers(b []byte) []uint16 {
	out := make([]uint16, len(b)/2)
	for i := range out {
		out[i] = binary.BigEndian.Uint16(b[2*i:])
	}
	return out
}
