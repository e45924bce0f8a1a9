package textline

import "bytes"

// longest is the length from which a line is taken for garbage, in bytes.
const longest = 4096

// splitter cuts a stream of bytes into lines. It begins out of step: what
// comes before the first line end is thrown away.
type splitter struct {
	buffer []byte
	inStep bool
	// lost counts lines that were thrown away: the truncated first one and
	// those that were too long.
	lost int
}

// add takes bytes as they come.
func (s *splitter) add(b []byte) { s.buffer = append(s.buffer, b...) }

// next returns the next whole line without its end; ok is false when none is
// there yet. Empty lines are passed over: CR LF is two line ends.
func (s *splitter) next() (line string, ok bool) {
	for {
		i := bytes.IndexAny(s.buffer, "\r\n")
		if i < 0 {
			s.shorten()
			return "", false
		}
		line := string(s.buffer[:i])
		s.buffer = append(s.buffer[:0], s.buffer[i+1:]...)
		switch {
		case !s.inStep:
			s.inStep = true
			if line != "" {
				s.lost++
			}
		case len(line) > longest:
			s.lost++
		case line != "":
			return line, true
		}
	}
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
