package simbench

import (
	"encoding/binary"
	"errors"
	"slices"
	"time"

	"holdbench/daq/modbus"
)

// bus is a link with Modbus RTU modules on it. It finds requests by their
// check sum, so it needs no timing to be right; what makes no sense is
// dropped after a pause, as a module would drop it.
type bus struct {
	modules map[byte]*module
	buf     []byte
	last    time.Time
}

// pause is how long, on the wall clock, the line must be silent for a request
// begun to count as given up: far longer than any gap inside a request, far
// shorter than the time-outs of masters.
const pause = 100 * time.Millisecond

// The shortest and the longest request with its check sum.
//
// Source: M MODBUS over Serial Line V1.02, section 2.5.1.
const (
	shortest = 4
	longest  = 256
)

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
	var replies [][]byte
	for {
		request := b.next()
		if request == nil {
			return replies
		}
		if reply := b.reply(request); reply != nil {
			replies = append(replies, reply)
		}
	}
}

// next takes the first whole request out of the buffer, nil when there is
// none yet.
func (b *bus) next() []byte {
	for n := shortest; n <= len(b.buf); n++ {
		if binary.LittleEndian.Uint16(b.buf[n-2:]) == modbus.CRC(b.buf[:n-2]) {
			request := slices.Clone(b.buf[:n])
			b.buf = append(b.buf[:0], b.buf[n:]...)
			return request
		}
	}
	if len(b.buf) >= longest {
		b.buf = b.buf[:0]
	}
	return nil
}

// reply is the answer of the module that a request is for, nil when it is for
// none.
func (b *bus) reply(frame []byte) []byte {
	m, ok := b.modules[frame[0]]
	if !ok {
		return nil
	}
	r, err := modbus.ParseRequest(frame)
	if err != nil { // sound, but not as long as a request to read registers is
		r = modbus.Request{Address: frame[0], Function: frame[1]}
	}
	values, err := m.registers(r)
	var x modbus.Exception
	if errors.As(err, &x) {
		return r.Refusal(x)
	}
	return r.Reply(values)
}
