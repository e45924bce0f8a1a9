package record

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"strings"
	"time"

	"holdbench/daq"
)

// eventColumns is the first line of events.csv.
var eventColumns = []string{timeColumn, "until [s]", "kind", "circuit", "subject", "text"}

// eventLine returns an event as a record of events.csv. An instant has its
// own time as until; an interval that has not ended has none. Line breaks of
// any kind inside a text become CRLF within quotes.
func eventLine(e daq.Event) ([]byte, error) {
	if e.At < 0 {
		return nil, fmt.Errorf("recording: event %q at %v, before the start", e.Kind, e.At)
	}
	if e.Kind == "" {
		return nil, fmt.Errorf("recording: event at %v without a kind", e.At)
	}
	until := ""
	if e.Until != daq.Open {
		until = string(appendSeconds(nil, max(e.At, e.Until)))
	}
	line := csvLine([]string{
		string(appendSeconds(nil, e.At)), until,
		oneBreak(string(e.Kind)), oneBreak(e.Circuit), oneBreak(e.Subject), oneBreak(e.Text),
	})
	return line, nil
}

// oneBreak turns every line break into "\n", which is how texts read back.
func oneBreak(text string) string {
	if !strings.Contains(text, "\r") {
		return text
	}
	return strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
}

// parseEvent reads one record of events.csv.
func parseEvent(record []byte) (daq.Event, error) {
	r := csv.NewReader(bytes.NewReader(record))
	r.FieldsPerRecord = len(eventColumns)
	cells, err := r.Read()
	if err != nil {
		return daq.Event{}, fmt.Errorf("not a record of six cells")
	}
	if r.InputOffset() != int64(len(record)) {
		return daq.Event{}, fmt.Errorf("more than one record")
	}
	e := daq.Event{Kind: daq.EventKind(cells[2]), Circuit: cells[3], Subject: cells[4], Text: cells[5]}
	if e.Kind == "" {
		return e, fmt.Errorf("no kind")
	}
	var ok bool
	if e.At, ok = parseSeconds([]byte(cells[0])); !ok {
		return e, errTime
	}
	e.Until, ok = parseUntil(cells[1])
	if !ok || e.Until != daq.Open && e.Until < e.At {
		return e, fmt.Errorf("an end that is no time or before the beginning")
	}
	return e, nil
}

func parseUntil(cell string) (time.Duration, bool) {
	if cell == "" {
		return daq.Open, true
	}
	return parseSeconds([]byte(cell))
}

// mergeEvents puts the end of an interval into the event that opened it: same
// time, kind, circuit and subject. The order is that of the beginnings; a
// text that came with the end replaces the first.
func mergeEvents(written []daq.Event) []daq.Event {
	type key struct {
		at               time.Duration
		kind             daq.EventKind
		circuit, subject string
	}
	open := map[key]int{}
	var merged []daq.Event
	for _, e := range written {
		k := key{e.At, e.Kind, e.Circuit, e.Subject}
		i, opened := open[k]
		if !opened {
			i = len(merged)
			merged = append(merged, e)
		}
		merged[i].Until = e.Until
		if e.Text != "" {
			merged[i].Text = e.Text
		}
		if e.Until == daq.Open {
			open[k] = i
		} else {
			delete(open, k)
		}
	}
	return merged
}

// readEvents reads events.csv from line on (its first line left off) and
// notes what could not be read. A record may span lines; after damage it
// starts again at the next line.
func readEvents(text []byte, line int, found *findings) []daq.Event {
	var events []daq.Event
	lastWhole := true
	for len(text) > 0 {
		length, whole := recordLength(text)
		e, err := parseEvent(text[:length])
		if !whole {
			err = errUnended
		}
		if err == nil {
			events = append(events, e)
		} else {
			length = lineLength(text)
			found.damaged(line, length, err)
		}
		lastWhole = err == nil || lastWhole && whole && length < len(text)
		line += bytes.Count(text[:length], []byte{'\n'})
		text = text[length:]
	}
	if !lastWhole {
		found.tearOff()
	}
	return mergeEvents(events)
}

var errUnended = errors.New("a quoted text or a line without an end")

// recordLength returns the length of the first record, which ends at the
// first line end outside quotes; whole is false when there is none.
func recordLength(text []byte) (length int, whole bool) {
	quoted := false
	for i, c := range text {
		switch c {
		case '"':
			quoted = !quoted
		case '\n':
			if !quoted {
				return i + 1, true
			}
		}
	}
	return len(text), false
}

func lineLength(text []byte) int {
	if i := bytes.IndexByte(text, '\n'); i >= 0 {
		return i + 1
	}
	return len(text)
}
