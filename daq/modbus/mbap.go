package modbus

import (
	"encoding/binary"
	"errors"
)

// ErrNotMBAP: what comes over TCP is no Modbus TCP, and nothing says where the
// next message begins.
var ErrNotMBAP = errors.New("what comes is no Modbus TCP")

// The header of a message over TCP: transaction, protocol (0), length, unit.
//
// Source: [3] section 3.1.3.
const (
	headerLength = 7
	longestPDU   = 253
)

// NoUnit is the unit identifier of a server that stands on the network itself
// and needs none.
//
// Source: [3] section 4.4.2.1 and its remark on addressing: FF; 0 is accepted
// too.
const NoUnit = 0xFF

// message puts the header before a message over TCP.
func message(transaction uint16, unit byte, pdu []byte) []byte {
	b := binary.BigEndian.AppendUint16(make([]byte, 0, headerLength+len(pdu)), transaction)
	b = binary.BigEndian.AppendUint16(b, 0)
	b = binary.BigEndian.AppendUint16(b, uint16(len(pdu)+1))
	return append(append(b, unit), pdu...)
}

// Message is one message of a Modbus TCP stream without its header.
type Message struct {
	Transaction uint16
	Unit        byte
	PDU         []byte // function and what follows it
}

// NextMessage takes the first message out of the bytes of a TCP stream. The
// errors are ErrShort where it has not wholly come, and ErrNotMBAP.
func NextMessage(b []byte) (m Message, rest []byte, err error) {
	if len(b) >= 4 && binary.BigEndian.Uint16(b[2:]) != 0 {
		return m, b, ErrNotMBAP
	}
	if len(b) < 6 {
		return m, b, ErrShort
	}
	length := int(binary.BigEndian.Uint16(b[4:]))
	switch {
	case length < 2 || length > 1+longestPDU:
		return m, b, ErrNotMBAP
	case len(b) < 6+length:
		return m, b, ErrShort
	}
	m = Message{Transaction: binary.BigEndian.Uint16(b), Unit: b[6], PDU: b[headerLength : 6+length]}
	return m, b[6+length:], nil
}

// Message returns the request as sent over TCP.
// It panics when a request that writes has no values.
func (r Request) Message(transaction uint16) []byte { return message(transaction, r.Address, r.pdu()) }

// Request reads a message as a request, for whoever plays the server. With
// the errors ErrShort, ErrLength and ErrValue come address and function: the
// server refuses it.
func (m Message) Request() (Request, error) { return parseRequest(m.Unit, m.PDU) }

// ReplyMessage returns the message by which a server answers r; see Reply.
func (r Request) ReplyMessage(transaction uint16, values []uint16) []byte {
	return message(transaction, r.Address, r.replyPDU(values))
}

// RefusalMessage returns the message by which a server answers r with an
// exception.
func (r Request) RefusalMessage(transaction uint16, x Exception) []byte {
	return message(transaction, r.Address, []byte{r.Function | exceptionBit, byte(x)})
}

// ParseMessage reads the message that answers r, whose transaction is the
// request's. The errors are those of Parse but ErrCRC. Where the unit
// identifier names no slave behind a gateway, any is taken back.
func (r Request) ParseMessage(m Message) ([]uint16, error) {
	if behind := r.Address >= 1 && r.Address <= 247; behind && m.Unit != r.Address {
		return nil, ErrOther
	}
	return r.parseReply(m.PDU)
}
