package record

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"holdbench/daq"
)

// appendRow appends one scan as a line of readings.csv. slots is scratch, one
// for each channel, all zero before and after.
func (c *columns) appendRow(dst []byte, s daq.Scan, slots []int) ([]byte, error) {
	at := c.indexOf(s.Instrument)
	if err := c.checkScan(s, at); err != nil {
		return dst, err
	}
	for i, r := range s.Readings {
		slots[r.Channel] = i + 1
	}
	dst = appendSeconds(dst, s.At)
	dst = append(dst, ',')
	dst = append(dst, c.scanCells[at]...)
	for _, cell := range c.cells {
		dst = append(dst, ',')
		if i := slots[cell.channel]; i > 0 {
			dst = appendNumber(dst, numberOf(s.Readings[i-1], cell.raw))
		}
	}
	for _, r := range s.Readings {
		slots[r.Channel] = 0
	}
	return append(dst, '\r', '\n'), nil
}

// numberOf returns what goes into a cell. A value is written only where the
// reading is healthy and finite; the raw number whatever its health.
func numberOf(r daq.Reading, raw bool) float64 {
	switch {
	case raw:
		return r.Raw
	case r.Health == daq.Healthy && !math.IsInf(r.Value, 0):
		return r.Value
	}
	return math.NaN()
}

func (c *columns) indexOf(instrument string) int {
	for i, name := range c.instruments {
		if name == instrument {
			return i
		}
	}
	return -1
}

func (c *columns) checkScan(s daq.Scan, instrument int) error {
	if instrument < 0 {
		return fmt.Errorf("recording: scan of %q, which reads none of the recording's channels", s.Instrument)
	}
	if s.At < 0 {
		return fmt.Errorf("recording: scan of %q at %v, before the start", s.Instrument, s.At)
	}
	for i, r := range s.Readings {
		if r.Channel < 0 || r.Channel >= len(c.channels) {
			return fmt.Errorf("recording: scan of %q: no channel %d", s.Instrument, r.Channel)
		}
		if c.instrument[r.Channel] != instrument {
			return fmt.Errorf("recording: scan of %q carries channel %q of %q", s.Instrument,
				c.channels[r.Channel].Name, c.channels[r.Channel].Instrument)
		}
		if slices.ContainsFunc(s.Readings[:i], func(o daq.Reading) bool { return o.Channel == r.Channel }) {
			return fmt.Errorf("recording: scan of %q carries channel %q more than once", s.Instrument, c.channels[r.Channel].Name)
		}
	}
	return nil
}

// row is one line of readings.csv as read.
type row struct {
	at         time.Duration
	instrument int
	// numbers has one place for each channel; only those of the instrument
	// are filled, NaN for an empty cell.
	numbers []float64
}

var (
	errFew        = errors.New("too few columns")
	errMany       = errors.New("too many columns")
	errTime       = errors.New("no time in the first column")
	errScan       = errors.New("no instrument of this recording in the second column")
	errNumber     = errors.New("a cell that is not a number")
	errStrayValue = errors.New("a number in a column of another instrument")
)

// parseRow reads one line, without its line end, into r: the values, or with
// raw the raw numbers (of channels without a raw column, the values).
func (c *columns) parseRow(line []byte, raw bool, r *row) error {
	cell, rest, more := bytes.Cut(line, []byte{','})
	if !more {
		return errFew
	}
	var ok bool
	if r.at, ok = parseSeconds(cell); !ok {
		return errTime
	}
	if r.instrument, rest, ok = c.cutScan(rest); !ok {
		return errScan
	}
	for _, place := range c.cells {
		if len(rest) == 0 || rest[0] != ',' {
			return errFew
		}
		end := bytes.IndexByte(rest[1:], ',') + 1
		if end == 0 {
			end = len(rest)
		}
		cell, rest = rest[1:end], rest[end:]
		if err := c.parseCell(cell, place, raw, r); err != nil {
			return err
		}
	}
	if len(rest) > 0 {
		return errMany
	}
	return nil
}

// cutScan finds which instrument's cell text begins with; rest begins with
// the comma after it.
func (c *columns) cutScan(text []byte) (instrument int, rest []byte, ok bool) {
	for i, cell := range c.scanCells {
		if bytes.HasPrefix(text, cell) && (len(text) == len(cell) || text[len(cell)] == ',') {
			return i, text[len(cell):], true
		}
	}
	return 0, nil, false
}

func (c *columns) parseCell(cell []byte, place cellPlace, raw bool, r *row) error {
	if c.instrument[place.channel] != r.instrument {
		if len(cell) > 0 {
			return errStrayValue
		}
		return nil
	}
	x, ok := parseNumber(cell)
	if !ok || !place.raw && math.IsInf(x, 0) {
		return errNumber
	}
	if place.raw == (raw && c.channels[place.channel].Converted) {
		r.numbers[place.channel] = x
	}
	return nil
}
