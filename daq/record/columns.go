package record

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// columns is the layout of readings.csv: time, the name of the scan (its
// instrument), then for each channel its value and, where a conversion was
// applied, its raw number.
type columns struct {
	channels    []daq.Channel
	instruments []string
	instrument  []int       // of each channel: its index in instruments
	scanCells   [][]byte    // instruments as CSV cells
	header      []string    // names of all columns, time and scan included
	cells       []cellPlace // what each column after time and scan holds
}

// cellPlace says which channel a column belongs to and which of its numbers
// it holds.
type cellPlace struct {
	channel int
	raw     bool
}

const (
	timeColumn = "time [s]"
	scanColumn = "scan"
)

// newColumns lays out the channels. It refuses what could not be told apart
// when read: two columns of one name, a channel without a name or instrument,
// and names with line breaks or other control characters.
func newColumns(channels []daq.Channel) (*columns, error) {
	c := &columns{channels: channels, header: []string{timeColumn, scanColumn}}
	index := map[string]int{}
	for i, ch := range channels {
		if err := checkChannel(ch); err != nil {
			return nil, err
		}
		at, known := index[ch.Instrument]
		if !known {
			at = len(c.instruments)
			index[ch.Instrument] = at
			c.instruments = append(c.instruments, ch.Instrument)
			c.scanCells = append(c.scanCells, csvCell(ch.Instrument))
		}
		c.instrument = append(c.instrument, at)
		c.header = append(c.header, valueColumn(ch))
		c.cells = append(c.cells, cellPlace{channel: i})
		if ch.Converted {
			c.header = append(c.header, rawColumn(ch))
			c.cells = append(c.cells, cellPlace{channel: i, raw: true})
		}
	}
	return c, firstTwice(c.header)
}

func valueColumn(ch daq.Channel) string {
	return fmt.Sprintf("%s [%s]", ch.Name, ch.Quantity.SI().Symbol)
}

func rawColumn(ch daq.Channel) string {
	return fmt.Sprintf("%s raw [%s]", ch.Name, ch.RawUnit)
}

func checkChannel(ch daq.Channel) error {
	switch {
	case ch.Name == "":
		return fmt.Errorf("recording: a channel without a name")
	case ch.Instrument == "":
		return fmt.Errorf("recording: channel %q: names no instrument", ch.Name)
	case strings.ContainsFunc(ch.Name+ch.Instrument+ch.RawUnit, unicode.IsControl):
		return fmt.Errorf("recording: channel %q of instrument %q: a control character in a name", ch.Name, ch.Instrument)
	case !slices.Contains(si.Quantities(), ch.Quantity):
		return fmt.Errorf("recording: channel %q: quantity %d is none", ch.Name, ch.Quantity)
	}
	return nil
}

func firstTwice(names []string) error {
	seen := map[string]bool{}
	for _, n := range names {
		if seen[n] {
			return fmt.Errorf("recording: two columns named %q", n)
		}
		seen[n] = true
	}
	return nil
}

// headerLine returns the first line of readings.csv, line end included.
func (c *columns) headerLine() []byte { return csvLine(c.header) }

// csvLine returns one record as RFC 4180 has it, CRLF included.
func csvLine(record []string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	_ = w.Write(record) // a bytes.Buffer takes everything
	w.Flush()
	return b.Bytes()
}

// csvCell returns text as one cell, quoted where it needs to be. A lone empty
// cell would be quoted too, but no name is empty.
func csvCell(text string) []byte {
	return bytes.TrimSuffix(csvLine([]string{text}), []byte("\r\n"))
}
