package textline

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
)

// columns are fields at those columns.
func columns(at ...int) (fields []Field) {
	for _, c := range at {
		fields = append(fields, Field{Column: c})
	}
	return fields
}

// read puts pieces through a stream's own parts and returns the first signal
// of each line that became a reading.
func read(t testing.TB, c Config, pieces ...string) (raw []float64, counted Counts) {
	s := NewStream((&daqtest.Cable{}).Port(t, link.Config{Port: "memory"}), daq.NewWallClock(), c)
	dst := make([]daq.Signal, len(c.Fields))
	for _, p := range pieces {
		s.lines.add([]byte(p))
		for s.nextGood(dst) {
			raw = append(raw, dst[0].Raw)
		}
	}
	return raw, s.Counts()
}

func TestDirtyLinesCostThemselvesOnly(t *testing.T) {
	long := strings.Repeat("1", longest+1)
	for name, c := range map[string]struct {
		pieces  []string
		want    []float64
		garbled int
	}{
		"clean":                  {[]string{"\n1,5\n2,5\n"}, []float64{1, 2}, 0},
		"truncated first":        {[]string{"3.4,5\n1,5\n"}, []float64{1}, 1},
		"CR, LF, CRLF":           {[]string{"\r1,5\r2,5\n3,5\r\n4,5\n\r"}, []float64{1, 2, 3, 4}, 0},
		"in pieces":              {[]string{"\n", "1", ",", "5", "\r", "\n2,", "5\n"}, []float64{1, 2}, 0},
		"garbage":                {[]string{"\n1,5\n\x00\xffx\n2,5\n"}, []float64{1, 2}, 1},
		"merged":                 {[]string{"\n1,5\n2,52,5\n3,5\n"}, []float64{1, 3}, 1},
		"torn":                   {[]string{"\n1,5\n2\n3,5\n"}, []float64{1, 3}, 1},
		"too long":               {[]string{"\n1,5\n" + long + ",5\n3,5\n"}, []float64{1, 3}, 1},
		"too long in pieces":     {[]string{"\n1,5\n" + long, long, ",5\n3,5\n"}, []float64{1, 3}, 1},
		"never ends":             {[]string{"\n1,5\n", long, long, long}, []float64{1}, 0},
		"blank lines":            {[]string{"\n1,5\n\n\n2,5\n"}, []float64{1, 2}, 0},
		"another width for good": {[]string{"\n1,5\n2,5,0\n3,5,0\n4,5,0\n5,5,0\n"}, []float64{1, 4, 5}, 2},
		"a header":               {[]string{"\np [bar],T\n1,5\n"}, []float64{1}, 0},
		"a banner":               {[]string{"\n1,5\nPressure indicator, version 2.1\r\nself test ok\r\n2,5\n"}, []float64{1, 2}, 0},
		"a torn banner":          {[]string{"\n1,5\n2Pressure indicator, version 2.1\r\n2,5\n"}, []float64{1, 2}, 1},
		"a block":                {[]string{"\n1,5\n#15HELLO\n2,5\n"}, []float64{1, 2}, 1},
	} {
		t.Run(name, func(t *testing.T) {
			got, counted := read(t, Config{Format: Format{Separator: ","}, Fields: columns(1, 2)}, c.pieces...)
			assert.Equal(t, c.want, got)
			assert.Equal(t, c.garbled, counted.Garbled)
			assert.Equal(t, len(c.want), counted.Lines)
		})
	}
}

func TestColumnsThatNobodyAskedForMayHoldAnything(t *testing.T) {
	got, counted := read(t, Config{Format: Format{Separator: ";"}, Fields: columns(1, 2)}, "\n1;5;12:30:01;bar\n2;5;12:30:02;bar\n")
	assert.Equal(t, []float64{1, 2}, got)
	assert.Zero(t, counted.Garbled)
}
