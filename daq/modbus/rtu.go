package modbus

import "encoding/binary"

// CRC returns the check of a message, the low byte of which is sent first.
//
// Source: [1] section 2.5.1.2 and 6.2.2 (polynomial A001 reflected, preset
// FFFF).
func CRC(message []byte) uint16 {
	crc := uint16(preset)
	for _, b := range message {
		crc = divide(crc, b)
	}
	return crc
}

// preset is the check of nothing.
const preset = 0xFFFF

// divide takes one byte more into a check.
func divide(crc uint16, b byte) uint16 { return crc>>8 ^ divided[byte(crc)^b] }

// divided is each byte divided bit by bit.
var divided = func() (table [256]uint16) {
	for i := range table {
		crc := uint16(i)
		for range 8 {
			odd := crc&1 == 1
			crc >>= 1
			if odd {
				crc ^= 0xA001
			}
		}
		table[i] = crc
	}
	return table
}()

// Lengths of frames on a serial line, [1] section 2.5.1 and [2] section 4.1.
const (
	// shortest is the length of the shortest reply, an exception.
	shortest = 5
	// longest is that of the longest frame.
	longest = 256
)

// frame puts the address before a message and the check behind it.
func frame(address byte, pdu []byte) []byte {
	b := append(make([]byte, 0, len(pdu)+3), address)
	b = append(b, pdu...)
	return binary.LittleEndian.AppendUint16(b, CRC(b))
}

// sound says whether a frame's last two bytes are its check.
func sound(frame []byte) bool {
	n := len(frame) - 2
	return n >= 2 && binary.LittleEndian.Uint16(frame[n:]) == CRC(frame[:n])
}

// Frame returns the request as sent on a serial line, with its check.
// It panics when a request that writes has no values.
func (r Request) Frame() []byte { return frame(r.Address, r.pdu()) }

// ReplyLength is the number of bytes of the frame that answers the request on
// a serial line and is no exception.
func (r Request) ReplyLength() int { return 3 + r.replyLength() }

// ParseRequest reads a request frame of a serial line, for whoever plays the
// slave. The function may be any that takes a start and a count. The errors
// are ErrShort and ErrCRC, and of a sound frame ErrLength and ErrValue, with
// which address and function come: the slave refuses it.
func ParseRequest(frame []byte) (Request, error) {
	switch {
	case len(frame) < 4:
		return Request{}, ErrShort
	case !sound(frame):
		if n, err := requestLength(frame[1 : len(frame)-2]); err == nil && len(frame) > n+3 {
			return Request{}, ErrLength
		} else if err != nil || len(frame) < n+3 {
			return Request{}, ErrShort
		}
		return Request{}, ErrCRC
	}
	r, err := parseRequest(frame[0], frame[1:len(frame)-2])
	if err == ErrShort {
		err = ErrLength // its check is right, so no more of it will come
	}
	return r, err
}

// NextRequest takes the first sound frame out of the bytes that a slave has
// heard and returns it with the bytes behind it; what stands before it belongs
// to nothing. A frame of a function of ours is as long as that says, one of
// another as long as its check is right. Where there is none yet the frame is
// nil, and rest is what may still become one.
func NextRequest(heard []byte) (frame, rest []byte) {
	for from := range heard {
		if to := from + requestEnd(heard[from:]); to > from {
			return heard[from:to], heard[to:]
		}
	}
	return nil, heard[max(0, len(heard)-longest):]
}

// requestEnd is the length of the sound request that begins here, 0 for none.
func requestEnd(b []byte) int {
	if len(b) < 4 {
		return 0
	}
	if _, ours := most[b[1]]; ours {
		n, err := requestLength(b[1:])
		if n += 3; err == nil && n <= len(b) && sound(b[:n]) {
			return n
		}
		return 0
	}
	crc := uint16(preset)
	for i, c := range b[:min(len(b), longest)] {
		// The check of a message with its own check behind it is 0.
		if crc = divide(crc, c); crc == 0 && i+1 >= 4 {
			return i + 1
		}
	}
	return 0
}

// Reply returns the frame by which a slave on a serial line answers r with
// values; for a request that writes they are not looked at.
// It panics when there are more than a frame can carry.
func (r Request) Reply(values []uint16) []byte { return frame(r.Address, r.replyPDU(values)) }

// Refusal returns the frame by which a slave on a serial line answers r with
// an exception.
func (r Request) Refusal(x Exception) []byte {
	return frame(r.Address, []byte{r.Function | exceptionBit, byte(x)})
}

// Parse reads the frame that answers r on a serial line. Values are nil for a
// request that writes. The errors are ErrShort, ErrLength, ErrCRC, ErrOther,
// or an Exception.
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
	case frame[0] != r.Address:
		return nil, ErrOther
	}
	return r.parseReply(frame[1 : length-2])
}

// frameLength returns how long the frame is that begins here, if it is a
// reply to a request of ours: ErrShort when that cannot be seen yet,
// ErrLength when it is no such reply.
func frameLength(b []byte) (int, error) {
	if len(b) < 3 {
		return 0, ErrShort
	}
	n, err := replyPDULength(b[1:])
	return n + 3, err
}
