package record

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"

	"holdbench/analysis/series"
)

// maxLine is the longest line of readings.csv that can be a row.
const maxLine = 256 << 10

// readReadings reads readings.csv.
func (r *Recording) readReadings(resources []resource) error {
	found := &findings{file: readingsFile}
	rows := newGatherer(r.columns, found, false)
	hash, err := r.gather(rows)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		found.add("missing: no readings could be read")
	case err != nil:
		return err
	default:
		r.Hashes[readingsFile] = hash
		r.checkSeal(found, resources)
	}
	r.series, r.end = rows.series()
	r.Findings = append(r.Findings, found.all()...)
	return nil
}

// Raw reads the raw numbers as the instruments sent them, each in its
// channel's RawUnit (of a channel without conversion, its values); places as
// in Series. It reads the file again. The columns' quantity says nothing.
// Errors are those of the operating system, wrapped.
func (r *Recording) Raw() (series.Series, error) {
	rows := newGatherer(r.columns, &findings{file: readingsFile}, true)
	if _, err := r.gather(rows); err != nil {
		return series.Series{}, fmt.Errorf("open recording: %w", err)
	}
	s, _ := rows.series()
	return s, nil
}

// gather reads the file through and returns its hash.
func (r *Recording) gather(rows *gatherer) (hash string, err error) {
	f, err := os.Open(filepath.Join(r.Dir, readingsFile))
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if err := rows.read(io.TeeReader(f, h)); err != nil {
		return "", err
	}
	return hashText(h), nil
}

// gatherer collects the rows of readings.csv, instrument by instrument.
type gatherer struct {
	columns     *columns
	found       *findings
	raw         bool
	row         row
	instruments []instrumentRows
	values      [][]float64 // of each channel
}

// instrumentRows are the times of one instrument's rows, s.
type instrumentRows struct {
	time      []float64
	disorders int // rows not later than the one before
	firstAt   int // line of the first of them
}

func newGatherer(c *columns, found *findings, raw bool) *gatherer {
	return &gatherer{
		columns: c, found: found, raw: raw,
		row:         row{numbers: make([]float64, len(c.channels))},
		instruments: make([]instrumentRows, len(c.instruments)),
		values:      make([][]float64, len(c.channels)),
	}
}

// read takes in the file line by line.
func (g *gatherer) read(from io.Reader) error {
	b := bufio.NewReaderSize(from, maxLine)
	for line := 1; ; line++ {
		text, size, err := nextLine(b)
		if err != nil && err != io.EOF {
			return err
		}
		whole := err == nil
		if size > 0 || line == 1 {
			g.line(line, text, size, whole, whole && atEnd(b))
		}
		if !whole {
			return nil
		}
	}
}

// nextLine returns the next line with its end, io.EOF when the file ended
// first. Of a line longer than the buffer it returns the size alone.
func nextLine(b *bufio.Reader) (text []byte, size int, err error) {
	text, err = b.ReadSlice('\n')
	size = len(text)
	for err == bufio.ErrBufferFull {
		text, err = b.ReadSlice('\n')
		size += len(text)
		text = nil
	}
	return text, size, err
}

func atEnd(b *bufio.Reader) bool {
	_, err := b.Peek(1)
	return err == io.EOF
}

// line takes in one line: the header, a row, or neither.
func (g *gatherer) line(number int, text []byte, size int, whole, last bool) {
	if number == 1 {
		if !bytes.Equal(text, g.columns.headerLine()) {
			g.found.add("line 1 is not the header that belongs there; columns are taken in the order of %s", packageFile)
		}
		return
	}
	if !whole {
		g.found.torn(number, size)
		return
	}
	err := errLong
	if text != nil {
		err = g.columns.parseRow(bytes.TrimRight(text, "\r\n"), g.raw, &g.row)
	}
	switch {
	case err == nil:
		g.add(number)
	case last && err == errFew:
		g.found.torn(number, size)
	default:
		g.found.damaged(number, size, err)
	}
}

var errLong = errors.New("longer than any row")

// add takes in the row that was parsed last.
func (g *gatherer) add(line int) {
	in := &g.instruments[g.row.instrument]
	t := Seconds(g.row.at)
	if n := len(in.time); n > 0 && t <= in.time[n-1] {
		if in.disorders == 0 {
			in.firstAt = line
		}
		in.disorders++
	}
	in.time = append(in.time, t)
	for ch, of := range g.columns.instrument {
		if of == g.row.instrument {
			g.values[ch] = append(g.values[ch], g.row.numbers[ch])
		}
	}
}

// series returns what was gathered and the time of the last scan, NaN when
// there is none.
func (g *gatherer) series() (s series.Series, end float64) {
	end = math.NaN()
	for i := range g.instruments {
		g.putInOrder(i)
		if t := g.instruments[i].time; len(t) > 0 && !(t[len(t)-1] <= end) {
			end = t[len(t)-1]
		}
	}
	for i, ch := range g.columns.channels {
		s.Columns = append(s.Columns, series.Column{
			Name: ch.Name, Quantity: ch.Quantity,
			Time: g.instruments[g.columns.instrument[i]].time, Value: g.values[i],
		})
	}
	return s, end
}

// putInOrder leaves out as few rows as need be for an instrument's times to
// be strictly increasing.
func (g *gatherer) putInOrder(instrument int) {
	in := &g.instruments[instrument]
	if in.disorders == 0 {
		return
	}
	keep := longestRise(in.time)
	g.found.settle()
	g.found.add("%d of the rows of %q left out: times out of order, first at line %d",
		len(in.time)-len(keep), g.columns.instruments[instrument], in.firstAt)
	in.time = pick(in.time, keep)
	for ch, of := range g.columns.instrument {
		if of == instrument {
			g.values[ch] = pick(g.values[ch], keep)
		}
	}
}

// short is a hash as people compare it: its first twelve digits.
func short(hash string) string {
	text := strings.TrimPrefix(hash, "sha256:")
	if len(text) > 12 {
		return text[:12] + "…"
	}
	return text
}
