package textline

import (
	"bytes"
	"strings"
)

// longest is the length from which a line is taken for garbage, in bytes.
const longest = 4096

// splitter cuts a stream of bytes into lines. It begins out of step: what
// comes before the first line end is thrown away.
type splitter struct {
	// end is what ends a line; empty: CR, LF or both.
	end string
	// tail is how many bytes belong to the line after its end, as a check
	// that follows the ETX.
	tail int

	buffer []byte
	inStep bool
	// lost counts lines that were thrown away: the truncated first one and
	// those that were too long.
	lost int
}

// add takes bytes as they come.
func (s *splitter) add(b []byte) { s.buffer = append(s.buffer, b...) }

// next returns the next whole line without its end (with it where a tail
// follows); ok is false when none is there yet. Empty lines are passed over
// where any of CR and LF ends one: CR LF is two line ends.
func (s *splitter) next() (line string, ok bool) {
	for {
		at, length := s.find()
		if at < 0 {
			s.shorten()
			return "", false
		}
		line := string(s.buffer[:at])
		if s.tail > 0 {
			line = string(s.buffer[:at+length])
		}
		s.buffer = append(s.buffer[:0], s.buffer[at+length:]...)
		switch {
		case !s.inStep:
			s.inStep = true
			if strings.Trim(line, "\r\n") != "" {
				s.lost++
			}
		case len(line) > longest:
			s.lost++
		case line != "" || s.end != "":
			return line, true
		}
	}
}

// find returns where the first line ends, and how long that end is with its
// tail; at is -1 when it has not come yet.
func (s *splitter) find() (at, length int) {
	if s.end == "" {
		return bytes.IndexAny(s.buffer, "\r\n"), 1
	}
	at = bytes.Index(s.buffer, []byte(s.end))
	length = len(s.end) + s.tail
	if at >= 0 && at+length > len(s.buffer) {
		return -1, 0
	}
	return at, length
}

// shorten throws away a line that is too long before it has ended, and the
// rest of it with it.
func (s *splitter) shorten() {
	if len(s.buffer) > longest {
		s.buffer = s.buffer[:0]
		s.inStep = false
	}
}

// restart forgets everything, as after the port was opened anew.
func (s *splitter) restart() {
	s.buffer = s.buffer[:0]
	s.inStep = false
}

// waiting is how many bytes have come behind the last line that was taken.
func (s *splitter) waiting() int { return len(s.buffer) }
