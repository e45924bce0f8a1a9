package discovery

import (
	"bytes"
	"encoding/binary"
	"slices"
	"strings"
	"sync"
	"time"

	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// Ear gathers from a byte trace what the lines of a bench did: Hear is a
// link.Options.Trace. Any goroutine may call it.
type Ear struct {
	mu    sync.Mutex
	start time.Time
	lines map[string]*hearing
}

// Heard is what one line did.
type Heard struct {
	// Exchanges are the latest that were answered, in their order.
	Exchanges []Exchange
	// Frames are the lengths of request and answer of each different question
	// that was answered, in the order in which they were first asked.
	Frames []Frame
	// Sent and Came count bytes; Legible counts those that came and are
	// printable, blanks, or beginnings and ends of lines.
	Sent, Came, Legible int
	// Asked counts questions, Echoed those that came back to whoever asked.
	Asked, Echoed int
	// Others counts questions that somebody else asked on the line.
	Others int
}

// Frame is one question of a line and how long its answer is.
type Frame struct {
	Request         []byte
	Asked, Answered int
}

// How much is kept of a line, so that a long watch does not fill the memory.
const (
	mostExchanges = 4096
	mostFrames    = 256
)

// hearing is what is kept of one line while it is listened to.
type hearing struct {
	heard   Heard
	open    bool // a question is out
	request []byte
	came    []byte // since the last question
	e       Exchange
	verdict string
	known   map[string]int // index in Frames by request
}

// Hear takes one entry of a trace.
func (e *Ear) Hear(t link.Traced) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.lines == nil {
		e.lines, e.start = map[string]*hearing{}, t.At
	}
	h := e.lines[t.Link]
	if h == nil {
		h = &hearing{known: map[string]int{}}
		e.lines[t.Link] = h
	}
	at := t.At.Sub(e.start)
	switch {
	case t.Port != "": // says nothing of bytes
	case len(t.Bytes) == 0:
		if h.verdict == "" || !answered(h.verdict) {
			h.verdict = t.Verdict
		}
	case t.Sent:
		h.close()
		h.open, h.request = true, slices.Clone(t.Bytes)
		h.e = Exchange{Sent: at, Asked: len(t.Bytes), Address: t.Bytes[0]}
		h.heard.Asked++
		h.heard.Sent += len(t.Bytes)
	default:
		h.receive(at, t.Bytes)
	}
}

// Line is what a line did so far.
func (e *Ear) Line(name string) Heard {
	e.mu.Lock()
	defer e.mu.Unlock()
	h := e.lines[name]
	if h == nil {
		return Heard{}
	}
	h.close()
	out := h.heard
	out.Exchanges, out.Frames = slices.Clone(out.Exchanges), slices.Clone(out.Frames)
	return out
}

// Forget drops the exchanges kept so far; the counts stay.
func (e *Ear) Forget(name string) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if h := e.lines[name]; h != nil {
		h.close()
		h.heard.Exchanges = nil
	}
}

func (h *hearing) receive(at time.Duration, b []byte) {
	h.heard.Came += len(b)
	for _, c := range b {
		if legible(c) {
			h.heard.Legible++
		}
	}
	if h.e.First == 0 {
		h.e.First = at
	}
	h.e.Last = at
	const most = 4096 // a stream is never asked: its bytes must not pile up
	if h.came = append(h.came, b...); len(h.came) > most {
		h.came = append(h.came[:0], h.came[len(h.came)-most/2:]...)
		h.heard.Others += h.others()
	}
}

// legible are the characters of text, with those by which a line of it is
// often begun and ended: STX and ETX.
func legible(c byte) bool {
	const stx, etx = 2, 3
	return c >= ' ' && c <= '~' || c == '\r' || c == '\n' || c == '\t' || c == stx || c == etx
}

// answered says whether the protocol took what came for the answer. A
// protocol that says nothing is believed.
func answered(verdict string) bool {
	return verdict == "" || strings.HasPrefix(verdict, "answer") || strings.HasPrefix(verdict, "exception") || strings.HasPrefix(verdict, "line")
}

// close ends the exchange that is open.
func (h *hearing) close() {
	echo := h.open && len(h.came) >= len(h.request) && bytes.HasPrefix(h.came, h.request) && !answersByEcho(h.request)
	if echo {
		h.heard.Echoed++
		h.came = h.came[len(h.request):]
	}
	others := h.others()
	h.heard.Others += others
	if h.open && len(h.came) > 0 && others == 0 && answered(h.verdict) {
		h.keep()
	}
	h.open, h.request, h.came, h.e, h.verdict = false, nil, h.came[:0], Exchange{}, ""
}

func (h *hearing) keep() {
	h.e.Answered = len(h.came)
	if len(h.heard.Exchanges) == mostExchanges {
		h.heard.Exchanges = append(h.heard.Exchanges[:0], h.heard.Exchanges[mostExchanges/2:]...)
	}
	h.heard.Exchanges = append(h.heard.Exchanges, h.e)
	question := question(h.request)
	i, ok := h.known[question]
	if !ok {
		if len(h.heard.Frames) == mostFrames {
			return
		}
		i = len(h.heard.Frames)
		h.known[question] = i
		h.heard.Frames = append(h.heard.Frames, Frame{Request: h.request, Asked: len(h.request)})
	}
	h.heard.Frames[i].Answered = len(h.came)
}

// question is what tells a request from another: over Modbus TCP the number of
// the transaction, in front, does not.
func question(request []byte) string {
	if overTCP(request) {
		return string(request[2:])
	}
	return string(request)
}

// answersByEcho says whether a request is one whose answer is the request
// itself: the writing of a single coil or register, [2] sections 6.5 and 6.6.
func answersByEcho(request []byte) bool {
	return len(request) == requestLength && (request[1] == 5 || request[1] == 6)
}

// requestLength is that of every request that reads, with its check.
const requestLength = 8

// others counts the sound requests among the bytes that came: somebody else
// asks on this line. The answers to some requests are as long as a request, and
// the beginning of every 256th answer that is a byte longer is as sound as one:
// what is a frame as a whole is passed over. A connection over Modbus TCP is
// nobody else's.
func (h *hearing) others() int {
	if overTCP(h.request) {
		return 0
	}
	n := 0
	for b := h.came; len(b) >= requestLength; {
		if whole := longestSound(b); whole > requestLength {
			b = b[whole:]
			continue
		}
		r, err := modbus.ParseRequest(b[:requestLength])
		mine := len(h.request) > 2 && b[0] == h.request[0] && b[1] == h.request[1] && b[1] != 3 && b[1] != 4
		if err == nil && r.Function >= 1 && r.Function <= 6 && r.Count > 0 && !mine {
			n++
			b = b[requestLength:]
			continue
		}
		b = b[1:]
	}
	return n
}

// overTCP says whether a request is one of Modbus TCP.
func overTCP(request []byte) bool {
	const shortest = 12
	_, rest, err := modbus.NextMessage(request)
	return err == nil && len(rest) == 0 && len(request) >= shortest
}

// longestSound is the length of the longest sound frame at the front of b, 0
// for none.
func longestSound(b []byte) int {
	longest := 0
	for _, n := range frameLengths(b) {
		if n <= min(len(b), longestFrame) && n > longest && binary.LittleEndian.Uint16(b[n-2:]) == modbus.CRC(b[:n-2]) {
			longest = n
		}
	}
	return longest
}
