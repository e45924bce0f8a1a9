package record

import (
	"bytes"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/analysis/series"
	"holdbench/daq"
)

func testColumns(t require.TestingT) *columns {
	c, err := newColumns(testMeta().Channels)
	require.NoError(t, err)
	return c
}

func TestRowsThatAreNoneSayWhy(t *testing.T) {
	c := testColumns(t)
	for line, want := range map[string]error{
		"":                                      errFew,
		"1":                                     errFew,
		"1,module":                              errFew,
		"1,module,1,1,1,":                       errFew,
		"1,module,1,1,1,,,":                     errMany,
		"x,module,1,1,1,,":                      errTime,
		",module,1,1,1,,":                       errTime,
		"1,modul,1,1,1,,":                       errScan,
		"1,modules,1,1,1,,":                     errScan,
		"1,thermometer, left,,,,1,1":            errScan,
		"1,module,1,x,1,,":                      errNumber,
		"1,module,INF,1,1,,":                    errNumber,
		"1,module,1,1,1,1,":                     errStrayValue,
		"1,module,1,1,1,,1":                     errStrayValue,
		"1,\"thermometer, left\",1,,,293.15,20": errStrayValue,
		"1,module,1,INF,1,,":                    nil,
		"1,module,,,,,":                         nil,
		"1,\"thermometer, left\",,,,293.15,20":  nil,
	} {
		r := row{numbers: make([]float64, 3)}
		require.ErrorIs(t, c.parseRow([]byte(line), false, &r), want, line)
	}
}

// An unhealthy reading has no value, whatever number stands in it; its raw
// number stays, unless there was none.
func TestUnhealthyReadingsKeepTheirRawNumber(t *testing.T) {
	c := testColumns(t)
	for want, r := range map[string]daq.Reading{
		"0,module,,21.5,,,\r\n": {Raw: 21.5, Value: 3, Health: daq.OverRange},
		"0,module,,,,,\r\n":     {Raw: math.NaN(), Value: math.NaN(), Health: daq.Missing},
		"0,module,,INF,,,\r\n":  {Raw: math.Inf(1), Value: math.NaN(), Health: daq.Invalid},
		"0,module,,4,,,\r\n":    {Raw: 4, Value: math.Inf(1)},
		"0,module,-0,4,,,\r\n":  {Raw: 4, Value: math.Copysign(0, -1)},
		"0,module,,-INF,,,\r\n": {Raw: math.Inf(-1), Value: math.NaN()},
	} {
		line, err := c.appendRow(nil, daq.Scan{Instrument: "module", Readings: []daq.Reading{r}}, make([]int, 3))
		require.NoError(t, err)
		require.Equal(t, want, string(line))
	}
}

func FuzzReadings(f *testing.F) {
	header := string(testColumns(f).headerLine())
	f.Add([]byte(header + "0.1,module,10000000,12.5,24.1,,\r\n0.15,\"thermometer, left\",,,,293.4,20.25\r\n0.2,module,,21.7,24,,\r\n"))
	f.Add([]byte(header + "0.1,module,1,1,1,,\r\n0.1,module,1,1,1,,\r\n9,module,1,1,1,,\n0.3,module,1,1,1,,"))
	f.Add([]byte(header + "\x00\x00\n,,\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		c := testColumns(t)
		found := &findings{file: readingsFile}
		g := newGatherer(c, found, false)
		require.NoError(t, g.read(bytes.NewReader(text)))
		s, end := g.series()
		rows := 0
		for _, col := range s.Columns {
			require.Equal(t, len(col.Time), len(col.Value))
			for i := 1; i < len(col.Time); i++ {
				require.Less(t, col.Time[i-1], col.Time[i])
			}
			for _, x := range col.Value {
				require.False(t, math.IsInf(x, 0))
			}
			if n := len(col.Time); n > 0 {
				require.GreaterOrEqual(t, end, col.Time[n-1])
			}
		}
		for _, in := range g.instruments {
			rows += len(in.time)
		}
		if lines := bytes.Count(text, []byte{'\n'}); rows < lines-1 || !bytes.HasSuffix(text, []byte{'\n'}) {
			require.NotEmpty(t, found.all(), "something was left out silently")
		}
		writeAgain(t, c, s)
	})
}

// writeAgain requires that what was parsed prints and parses to the same.
func writeAgain(t *testing.T, c *columns, want series.Series) {
	text := c.headerLine()
	slots := make([]int, len(c.channels))
	for i, name := range c.instruments {
		var err error
		text, err = appendInstrument(c, text, want, i, name, slots)
		require.NoError(t, err)
	}
	found := &findings{file: readingsFile}
	g := newGatherer(c, found, false)
	require.NoError(t, g.read(bytes.NewReader(text)))
	got, _ := g.series()
	require.Empty(t, found.all())
	for i := range want.Columns {
		require.Equal(t, nanBits(want.Columns[i].Value), nanBits(got.Columns[i].Value))
	}
}

func appendInstrument(c *columns, text []byte, s series.Series, instrument int, name string, slots []int) ([]byte, error) {
	var err error
	for row := 0; err == nil; row++ {
		scan := daq.Scan{At: time.Duration(row), Instrument: name}
		for ch, of := range c.instrument {
			if of == instrument && row < s.Columns[ch].Len() {
				scan.Readings = append(scan.Readings, daq.Reading{Channel: ch, Value: s.Columns[ch].Value[row]})
			}
		}
		if scan.Readings == nil {
			break
		}
		text, err = c.appendRow(text, scan, slots)
	}
	return text, err
}
