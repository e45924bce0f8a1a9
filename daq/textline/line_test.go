package textline

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/daq"
)

func TestSignalFromText(t *testing.T) {
	number := func(x float64) daq.Signal { return daq.Signal{Raw: x} }
	for text, want := range map[string]daq.Signal{
		"0": number(0), "12.5": number(12.5), "+12.5": number(12.5), "-12.5": number(-12.5), "- 12.5": number(-12.5),
		"+ 012.50": number(12.5), ".5": number(0.5), "5.": number(5), "1.25E+02": number(125), "-1.25e-02": number(-0.0125),
		"": none(daq.Missing), "----": none(daq.Missing), "-": none(daq.Missing), "n/a": none(daq.Missing),
		"OL": none(daq.OverRange), "+OL": none(daq.OverRange), "-OL": none(daq.UnderRange), "O.L": none(daq.OverRange),
		"0.L": none(daq.OverRange), "Inf": none(daq.OverRange), "-inf": none(daq.UnderRange),
		"NaN": none(daq.Invalid), "Err": none(daq.Invalid),
		"+9.9E37": none(daq.OverRange), "9.90000000E+37": none(daq.OverRange), "-9.9E37": none(daq.UnderRange),
		"1e999": none(daq.OverRange),
	} {
		got, ok := signal(text, true)
		assert.True(t, ok, text)
		same(t, want, got, text)
	}
	got, ok := signal("12,5", true)
	assert.True(t, ok)
	assert.Equal(t, number(12.5), got)
	for _, text := range []string{"12.5.6", "1,234.5", "1,2,3", "12.5bar", "0x1F", "1_000", "1e", "e5", ".", "+", "--5", "5-", "1 2", "\x00", "12:30"} {
		_, ok := signal(text, true)
		assert.False(t, ok, text)
	}
	_, ok = signal("12,5", false)
	assert.False(t, ok, "a comma where it parts columns")
}

func none(h daq.Health) daq.Signal { return daq.Signal{Raw: math.NaN(), Health: h} }

func same(t *testing.T, want, got daq.Signal, text string) {
	assert.Equal(t, want.Health, got.Health, text)
	assert.True(t, want.Raw == got.Raw || math.IsNaN(want.Raw) && math.IsNaN(got.Raw), text)
}

// read puts pieces through a stream's own parts and returns the first columns
// of the lines that became readings.
func read(separator string, pieces ...string) (raw []float64, garbled int) {
	s := NewStream(nil, Config{Columns: []int{1, 2}, Separator: separator})
	dst := make([]daq.Signal, 2)
	for _, p := range pieces {
		s.lines.add([]byte(p))
		for s.nextGood(dst) {
			raw = append(raw, dst[0].Raw)
		}
	}
	return raw, s.Counts().Garbled
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
		"a header":               {[]string{"\np [bar],T\n1,5\n"}, []float64{1}, 1},
	} {
		t.Run(name, func(t *testing.T) {
			got, garbled := read(",", c.pieces...)
			assert.Equal(t, c.want, got)
			assert.Equal(t, c.garbled, garbled)
		})
	}
}

func TestColumnsThatNobodyAskedForMayHoldAnything(t *testing.T) {
	got, garbled := read(";", "\n1;5;12:30:01;bar\n2;5;12:30:02;bar\n")
	assert.Equal(t, []float64{1, 2}, got)
	assert.Zero(t, garbled)
}

func FuzzStream(f *testing.F) {
	f.Add([]byte("3.4,5\n1,5\r\n2,52,5\nOL,----\n"), 3)
	f.Add([]byte("\r+9.9E37;1,5\r\x00\xff"), 1)
	f.Fuzz(func(t *testing.T, b []byte, piece int) {
		piece = max(1, piece%64)
		for _, separator := range []string{",", ";", "\t", " "} {
			var pieces []string
			for i := 0; i < len(b); i += piece {
				pieces = append(pieces, string(b[i:min(i+piece, len(b))]))
			}
			whole, lost := read(separator, string(b))
			cut, lostCut := read(separator, pieces...)
			if len(b) <= longest { // beyond that, what is too long depends on when it came
				assert.Equal(t, lost, lostCut)
				equal(t, whole, cut)
			}
			// What is read prints and is read again to the same.
			for _, x := range whole {
				if math.IsNaN(x) {
					continue
				}
				again, ok := signal(strconv.FormatFloat(x, 'g', -1, 64), separator != ",")
				assert.True(t, ok)
				assert.Equal(t, x, again.Raw)
			}
		}
	})
}

func equal(t *testing.T, a, b []float64) {
	if assert.Len(t, b, len(a)) {
		for i := range a {
			assert.True(t, a[i] == b[i] || math.IsNaN(a[i]) && math.IsNaN(b[i]))
		}
	}
}
