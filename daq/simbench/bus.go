package simbench

import (
	"errors"
	"slices"
	"time"

	"holdbench/daq/modbus"
)

// bus is a link with Modbus modules on it. It finds requests of RTU by their
// check sum, so it needs no timing to be right; what makes no sense is dropped
// after a pause, as a module would drop it.
type bus struct {
	modules map[byte]*module
	tcp     bool // Modbus TCP instead of RTU
	buf     []byte
	last    time.Time
}

// pause is how long, on the wall clock, the line must be silent for a request
// begun to count as given up: far longer than any gap inside a request, far
// shorter than the time-outs of masters.
const pause = 100 * time.Millisecond

// The longest request with its check sum.
//
// Source: M MODBUS over Serial Line V1.02, section 2.5.1.
const longest = 256

func newBus() *bus { return &bus{modules: map[byte]*module{}} }

func (b *bus) add(m *module) { b.modules[m.address] = m }

// serve answers requests until the socket is closed.
func (b *bus) serve(sock socket) {
	buf := make([]byte, longest)
	for {
		n, err := sock.Read(buf)
		if err != nil {
			return
		}
		for _, reply := range b.take(buf[:n], time.Now()) {
			sock.send(reply)
		}
	}
}

// take takes bytes that came at that time and returns the replies to the
// requests that they complete.
func (b *bus) take(bytes []byte, at time.Time) [][]byte {
	if at.Sub(b.last) > pause {
		b.buf = b.buf[:0]
	}
	b.last = at
	if len(b.modules) == 0 {
		return nil
	}
	b.buf = append(b.buf, bytes...)
	next := b.next
	if b.tcp {
		next = b.nextMessage
	}
	var replies [][]byte
	for {
		reply, some := next()
		if !some {
			return replies
		}
		if reply != nil {
			replies = append(replies, reply)
		}
	}
}

// next answers the first whole request in the buffer, nil when it is for no
// module here; some is false when there is none yet.
func (b *bus) next() (reply []byte, some bool) {
	frame, rest := modbus.NextRequest(b.buf)
	if frame == nil {
		if len(b.buf) >= longest {
			b.buf = b.buf[:0]
		}
		return nil, false
	}
	frame = slices.Clone(frame)
	b.buf = append(b.buf[:0], rest...)
	m, ok := b.modules[frame[0]]
	if !ok {
		return nil, true
	}
	r, err := modbus.ParseRequest(frame)
	values, err := m.asked(r, err)
	var x modbus.Exception
	if errors.As(err, &x) {
		return r.Refusal(x), true
	}
	return r.Reply(values), true
}

// nextMessage is next for Modbus TCP. A unit that is not there is answered for
// by the gateway.
func (b *bus) nextMessage() (reply []byte, some bool) {
	message, rest, err := modbus.NextMessage(b.buf)
	switch {
	case errors.Is(err, modbus.ErrShort):
		return nil, false
	case err != nil:
		b.buf = b.buf[:0]
		return nil, false
	}
	r, err := message.Request()
	b.buf = append(b.buf[:0], rest...)
	m, ok := b.modules[r.Address]
	if !ok {
		return r.RefusalMessage(message.Transaction, modbus.GatewayNoResponse), true
	}
	values, err := m.asked(r, err)
	var x modbus.Exception
	if errors.As(err, &x) {
		return r.RefusalMessage(message.Transaction, x), true
	}
	return r.ReplyMessage(message.Transaction, values), true
}

// asked answers a request that came with an error of its parser: a sound
// frame of a function that is not known, or not as long as it should be.
func (m *module) asked(r modbus.Request, err error) ([]uint16, error) {
	m.rig.hear(m.name)
	if _, known := m.places[r.Reads()]; err != nil && known {
		return nil, modbus.IllegalValue
	} else if err != nil {
		return nil, modbus.IllegalFunction
	}
	return m.answer(r)
}
