package record

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/daq"
)

// crashed is a recording of 40 rows and 4 events, closed or left open, and
// the bytes of its files.
type crashed struct {
	dir              string
	readings, events []byte
}

func newCrashed(t *testing.T, closed bool) crashed {
	t.Helper()
	w := newRecording(t)
	for i := range 20 {
		at := time.Duration(i) * 100 * time.Millisecond
		require.NoError(t, w.Scan(moduleScan(at, 12+float64(i)/7, 1e7-float64(i)/3, 24)))
		require.NoError(t, w.Scan(oilScan(at+time.Millisecond, 20, 293.15+float64(i)/9)))
	}
	for i, text := range []string{"first", "two\nlines, \"quoted\"", "third", "last,\none"} {
		require.NoError(t, w.Event(daq.Event{At: time.Duration(i) * time.Second, Kind: daq.Note, Text: text}))
	}
	require.NoError(t, w.Flush())
	if closed {
		require.NoError(t, w.Close())
	}
	c := crashed{dir: w.Dir()}
	c.readings = c.read(t, readingsFile)
	c.events = c.read(t, eventsFile)
	return c
}

func (c crashed) read(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(c.dir, name))
	require.NoError(t, err)
	return b
}

// open puts a file's bytes in place and opens the recording.
func (c crashed) open(t *testing.T, name string, text []byte) *Recording {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(c.dir, name), text, 0o666))
	r, err := Open(c.dir)
	require.NoError(t, err)
	return r
}

func rowsOf(t *testing.T, r *Recording) int {
	t.Helper()
	return column(t, r.Series(), "trapped_a").Len() + column(t, r.Series(), "oil").Len()
}

func lineAt(text []byte, number int) (from, to int) {
	for ; number > 1; number-- {
		from += bytes.IndexByte(text[from:], '\n') + 1
	}
	return from, from + bytes.IndexByte(text[from:], '\n') + 1
}

func TestReadingsCutAtEveryByteKeepTheWholeRows(t *testing.T) {
	c := newCrashed(t, false)
	from, _ := lineAt(c.readings, 37)
	for cut := from; cut <= len(c.readings); cut++ {
		r := c.open(t, readingsFile, c.readings[:cut])
		whole := bytes.Count(c.readings[:cut], []byte{'\n'}) - 1
		require.Equal(t, whole, rowsOf(t, r), "cut at %d", cut)
		if c.readings[cut-1] == '\n' {
			require.Empty(t, r.Findings, "cut at %d", cut)
		} else {
			require.Len(t, r.Findings, 1, "cut at %d", cut)
			require.True(t, strings.HasPrefix(r.Findings[0], "torn end: readings.csv: line "), r.Findings[0])
		}
	}
}

func TestEventsCutAtEveryByteKeepTheWholeOnes(t *testing.T) {
	c := newCrashed(t, false)
	ends := []int{}
	for _, last := range []string{"first\r\n", "quoted\"\"\"\r\n", "third\r\n", "one\"\r\n"} {
		ends = append(ends, bytes.Index(c.events, []byte(last))+len(last))
	}
	header := len(csvLine(eventColumns))
	for cut := header; cut <= len(c.events); cut++ {
		r := c.open(t, eventsFile, c.events[:cut])
		whole, between := 0, cut > header
		for _, end := range ends {
			if end <= cut {
				whole++
			}
			between = between && end != cut
		}
		require.Len(t, r.Events, whole, "cut at %d", cut)
		if between {
			require.Len(t, r.Findings, 1, "cut at %d: %q", cut, r.Findings)
			require.True(t, strings.HasPrefix(r.Findings[0], "torn end: events.csv: line "), r.Findings[0])
		} else {
			require.Empty(t, r.Findings, "cut at %d", cut)
		}
	}
}

// Every byte of two rows in the middle is replaced by every one of a few
// others: what is lost is never more than two rows, and a row that is lost is
// named. (A digit that becomes another digit cannot be seen without a hash.)
func TestDamageInTheMiddleCostsItsRowsAlone(t *testing.T) {
	c := newCrashed(t, false)
	from, _ := lineAt(c.readings, 20)
	_, to := lineAt(c.readings, 21)
	for i := from; i < to; i++ {
		for _, b := range []byte{'x', '9', ',', '\n', '"', 0, 0xff, '.', '-'} {
			if c.readings[i] == b {
				continue
			}
			damaged := bytes.Clone(c.readings)
			damaged[i] = b
			r := c.open(t, readingsFile, damaged)
			rows := rowsOf(t, r)
			require.GreaterOrEqual(t, rows, 38, "byte %d is %q", i, b)
			if rows < 40 {
				require.NotEmpty(t, r.Findings, "byte %d is %q", i, b)
				require.NotContains(t, r.Findings[0], "torn end")
			}
			sameElsewhere(t, r, 40)
		}
	}
}

// sameElsewhere requires that all readings but those of the damaged rows (19
// and 20 of 40) are what was written.
func sameElsewhere(t *testing.T, r *Recording, rows int) {
	t.Helper()
	p := column(t, r.Series(), "trapped_a")
	seen := 0
	for k, x := range p.Time {
		i := int(math.Round(x * 10))
		if i >= 0 && i < 20 && x == Seconds(time.Duration(i)*100*time.Millisecond) && p.Value[k] == 1e7-float64(i)/3 {
			seen++
		}
	}
	require.GreaterOrEqual(t, seen, 18)
}

func TestCrashTable(t *testing.T) {
	line20 := func(b []byte) (int, int) { return lineAt(b, 20) }
	for name, test := range map[string]struct {
		closed   bool
		damage   func(t *testing.T, c crashed)
		rows     int
		events   int
		findings []string
	}{
		"nothing":   {closed: true, rows: 40, events: 4},
		"left open": {rows: 40, events: 4},
		"a digit changed after the close": {closed: true, rows: 40, events: 4,
			damage: func(t *testing.T, c crashed) {
				c.put(t, readingsFile, bytes.Replace(c.readings, []byte(",9999997,"), []byte(",9999998,"), 1))
			},
			findings: []string{"readings.csv: changed since it was closed: sha256 "}},
		"a row removed after the close": {closed: true, rows: 39, events: 4,
			damage: func(t *testing.T, c crashed) {
				from, to := line20(c.readings)
				c.put(t, readingsFile, append(bytes.Clone(c.readings[:from]), c.readings[to:]...))
			},
			findings: []string{"readings.csv: changed since it was closed: sha256 "}},
		"an event added after the close": {closed: true, rows: 40, events: 5,
			damage: func(t *testing.T, c crashed) {
				c.put(t, eventsFile, append(bytes.Clone(c.events), "9,9,vented,,,\r\n"...))
			},
			findings: []string{"events.csv: changed since it was closed: sha256 "}},
		"a page of zeros in the middle": {rows: 30, events: 4,
			damage: func(t *testing.T, c crashed) {
				b := bytes.Clone(c.readings)
				from, _ := lineAt(b, 11)
				_, to := lineAt(b, 19)
				clear(b[from+5 : to+5])
				c.put(t, readingsFile, b)
			},
			findings: []string{"readings.csv: damaged: line 11 left out ("}},
		"a page of zeros at the end": {rows: 40, events: 4,
			damage: func(t *testing.T, c crashed) {
				c.put(t, readingsFile, append(bytes.Clone(c.readings), make([]byte, 4096)...))
			},
			findings: []string{"torn end: readings.csv: line 42 left out (4096 bytes)"}},
		"two megabytes of zeros in the middle": {rows: 39, events: 4,
			damage: func(t *testing.T, c crashed) {
				from, _ := line20(c.readings)
				b := append(bytes.Clone(c.readings[:from]), make([]byte, 2<<20)...)
				c.put(t, readingsFile, append(b, c.readings[from:]...))
			},
			findings: []string{"readings.csv: damaged: line 20 left out (20"}},
		"three lines of something else": {rows: 37, events: 4,
			damage: func(t *testing.T, c crashed) {
				b := bytes.Clone(c.readings)
				for line := 20; line < 23; line++ {
					from, _ := lineAt(b, line)
					b[from] = 'x'
				}
				c.put(t, readingsFile, b)
			},
			findings: []string{"readings.csv: damaged: lines 20 to 22 left out ("}},
		"a time far ahead costs one row": {rows: 39, events: 4,
			damage: func(t *testing.T, c crashed) {
				from, _ := line20(c.readings)
				c.put(t, readingsFile, append(append(bytes.Clone(c.readings[:from]), '7'), c.readings[from:]...))
			},
			findings: []string{`readings.csv: 1 of the rows of "module" left out: times out of order, first at line 22`}},
		"last row with too few columns but a line end": {rows: 38, events: 4,
			damage: func(t *testing.T, c crashed) {
				from, _ := lineAt(c.readings, 40)
				c.put(t, readingsFile, append(bytes.Clone(c.readings[:from+20]), "\r\n"...))
			},
			findings: []string{"torn end: readings.csv: line 40 left out (22 bytes)"}},
		"both a wrong middle and a torn end": {rows: 38, events: 4,
			damage: func(t *testing.T, c crashed) {
				b := bytes.Clone(c.readings[:len(c.readings)-3])
				from, _ := lineAt(b, 40)
				b[from] = 'x'
				c.put(t, readingsFile, b)
			},
			findings: []string{"readings.csv: damaged: line 40 left out (", "torn end: readings.csv: line 41 left out ("}},
		"header changed": {rows: 40, events: 4,
			damage: func(t *testing.T, c crashed) {
				b := bytes.Clone(c.readings)
				b[3] = '?'
				c.put(t, readingsFile, b)
			},
			findings: []string{"readings.csv: line 1 is not the header"}},
		"an opening quote lost in the events": {rows: 40, events: 4,
			damage: func(t *testing.T, c crashed) {
				c.put(t, eventsFile, bytes.Replace(c.events, []byte(`"two`), []byte(`two`), 1))
			},
			findings: []string{"events.csv: damaged: line 4 left out ("}},
		"a closing quote lost in the events": {rows: 40, events: 3,
			damage: func(t *testing.T, c crashed) {
				c.put(t, eventsFile, bytes.Replace(c.events, []byte("quoted\"\"\"\r"), []byte("quoted\"\"\r"), 1))
			},
			findings: []string{"events.csv: damaged: lines 3 to 4 left out ("}},
		"an event that ends before it begins": {rows: 40, events: 3,
			damage: func(t *testing.T, c crashed) {
				c.put(t, eventsFile, bytes.Replace(c.events, []byte("2,2,"), []byte("2,1,"), 1))
			},
			findings: []string{"events.csv: damaged: line 5 left out ("}},
		"empty tables": {rows: 0, events: 0,
			damage: func(t *testing.T, c crashed) {
				c.put(t, readingsFile, nil)
				c.put(t, eventsFile, nil)
			},
			findings: []string{"readings.csv: line 1 is not the header", "events.csv: line 1 is not the header"}},
		"tables missing": {closed: true, rows: 0, events: 0,
			damage: func(t *testing.T, c crashed) {
				require.NoError(t, os.Remove(filepath.Join(c.dir, readingsFile)))
				require.NoError(t, os.Remove(filepath.Join(c.dir, eventsFile)))
			},
			findings: []string{"readings.csv: missing", "events.csv: missing"}},
		"a temporary file left behind": {rows: 40, events: 4,
			damage: func(t *testing.T, c crashed) { c.put(t, ".datapackage.json.0123.tmp", []byte("{")) }},
	} {
		t.Run(name, func(t *testing.T) {
			c := newCrashed(t, test.closed)
			if test.damage != nil {
				test.damage(t, c)
			}
			r, err := Open(c.dir)
			require.NoError(t, err)
			require.Equal(t, test.rows, rowsOf(t, r))
			require.Len(t, r.Events, test.events)
			require.Len(t, r.Findings, len(test.findings), "%q", r.Findings)
			for i, want := range test.findings {
				require.True(t, strings.HasPrefix(r.Findings[i], want), "%q does not begin with %q", r.Findings[i], want)
			}
		})
	}
}

func (c crashed) put(t *testing.T, name string, text []byte) {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(c.dir, name), text, 0o666))
}

func TestFindingsDoNotGrowWithoutEnd(t *testing.T) {
	c := newCrashed(t, false)
	var b bytes.Buffer
	b.Write(c.readings)
	for i := range 100 {
		fmt.Fprintf(&b, "%d,module,1,1,1,,\r\nrubbish\r\n", 100+i)
	}
	b.WriteString("999,module,1,1,1,,\r\n")
	r := c.open(t, readingsFile, b.Bytes())
	require.Equal(t, 141, rowsOf(t, r))
	require.Len(t, r.Findings, maxFindings+1)
	require.Equal(t, "readings.csv: damaged: 80 more places", r.Findings[maxFindings])
}
