package simbench

import (
	"math"
	"strconv"
	"strings"

	"holdbench/daq/bench"
)

// stream is an instrument that sends lines of text.
type stream struct {
	rig       *Rig
	which     []int // channel by place in the line, -1 for a column nobody reads
	decimals  []int
	separator string
}

// separators by the word in the bench file.
var separators = map[string]string{"tab": "\t", "space": " "}

func newStream(r *Rig, in bench.Instrument) *stream {
	s := &stream{rig: r, separator: in.Separator}
	if sep, ok := separators[in.Separator]; ok {
		s.separator = sep
	}
	for i, c := range r.bench.Channels {
		if c.Instrument != in.Name {
			continue
		}
		for len(s.which) < c.Column {
			s.which = append(s.which, -1)
			s.decimals = append(s.decimals, 0)
		}
		s.which[c.Column-1] = i
		s.decimals[c.Column-1] = decimals(r.views[i])
	}
	return s
}

// decimals returns how many decimals show a channel's resolution, four where
// it states none.
func decimals(v view) int {
	if !(v.step > 0) {
		return 4
	}
	return max(0, min(9, int(math.Ceil(-math.Log10(v.step)-1e-9))))
}

// line returns the next line with its end. A column that no channel reads
// shows 0.
func (s *stream) line() []byte {
	var which []int
	for _, i := range s.which {
		if i >= 0 {
			which = append(which, i)
		}
	}
	sent := s.rig.read(which)
	fields := make([]string, len(s.which))
	next := 0
	for k, i := range s.which {
		fields[k] = "0"
		if i >= 0 {
			fields[k] = strconv.FormatFloat(sent[next], 'f', s.decimals[k], 64)
			next++
		}
	}
	return []byte(strings.Join(fields, s.separator) + "\r\n")
}
