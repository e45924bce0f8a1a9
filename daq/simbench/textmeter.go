package simbench

import (
	"cmp"
	"fmt"
	"strings"

	"holdbench/daq/bench"
)

// meter is an instrument that answers queries with lines of text.
type meter struct {
	end      string // of a query
	identify string
	identity string             // with its end
	writers  map[string]*writer // by query
	heard    string
}

func newMeter(r *Rig, in bench.Instrument) *meter {
	m := &meter{end: in.Text.QueryTerminator, identify: in.Text.Identify, writers: map[string]*writer{}}
	for n, other := range r.bench.Instruments {
		if other.Name == in.Name {
			m.identity = identity(in, n+1) + cmp.Or(in.Text.Terminator, "\r\n")
		}
	}
	for _, i := range r.channelsOf(in, each) {
		q := r.bench.Channels[i].Place.Query
		if m.writers[q] == nil {
			m.writers[q] = newWriter(r, in, r.channelsOf(in, func(c bench.Channel) bool { return c.Place.Query == q }))
		}
	}
	return m
}

// identity is what the instrument of a number says that it is: four fields, in
// which stands what the bench file wants of it.
func identity(in bench.Instrument, number int) string {
	usual := fmt.Sprintf("holdbench,simulated %s,%d,0", in.Name, number)
	if strings.Contains(usual, in.Text.Identity) {
		return usual
	}
	wanted := in.Text.Identity
	if strings.Count(wanted, ",") < 3 {
		wanted = "holdbench," + wanted
	}
	return wanted + strings.Repeat(",0", max(0, 3-strings.Count(wanted, ",")))
}

// longestQuery is what an instrument keeps of a query that does not end.
const longestQuery = 4096

// take takes bytes that came and returns the replies to the queries that they
// complete. What it does not know is not answered.
func (m *meter) take(b []byte) (replies [][]byte) {
	m.heard += string(b)
	for {
		query, rest, ok := strings.Cut(m.heard, m.end)
		if !ok {
			if len(m.heard) > longestQuery {
				m.heard = ""
			}
			return replies
		}
		m.heard = rest
		switch w := m.writers[query]; {
		case w != nil:
			replies = append(replies, w.line())
		case query == m.identify && query != "":
			replies = append(replies, []byte(m.identity))
		}
	}
}

// serveMeters answers queries until the socket is closed.
func serveMeters(meters []*meter, sock socket) {
	buf := make([]byte, 1024)
	for {
		n, err := sock.Read(buf)
		if err != nil {
			return
		}
		for _, m := range meters {
			for _, reply := range m.take(buf[:n]) {
				sock.send(reply)
			}
		}
	}
}
