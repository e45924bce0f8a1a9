package foreign

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func read(t *testing.T, text string, s Settings) *File {
	t.Helper()
	f, err := ReadFrom("x.csv", strings.NewReader(text), int64(len(text)), s)
	require.NoError(t, err)
	return f
}

// Law: a file of many chunks is read like its rows one by one.
func TestLongFileKeepsEveryRow(t *testing.T) {
	const n = 60_000
	text := longHold(n)
	require.Greater(t, len(text), 3*chunkSize)
	f, err := ReadFrom("x.csv", bytes.NewReader(text), int64(len(text)), Settings{})
	require.NoError(t, err)
	assert.Equal(t, n, f.Rows)
	assert.Equal(t, n+1, f.Lines)
	sum := sha256.Sum256(text)
	assert.Equal(t, "sha256:"+hex.EncodeToString(sum[:]), f.Hash)
	lines := strings.Split(string(text), "\n")[1:]
	for i := range n {
		cells := strings.Split(lines[i], ",")
		for k, c := range f.Series.Columns {
			x, ok := parseNumber([]byte(cells[k+1]), '.')
			require.True(t, ok)
			require.Equal(t, f.Units[c.Name].ToSI(x), c.Value[i], "row %d of %s", i, c.Name)
		}
		require.Equal(t, float64(i)/10, f.Series.Columns[0].Time[i])
	}
}

// The same with quotes, blanks and a wide encoding, which take the slow way.
func TestLongDirtyFileKeepsEveryRow(t *testing.T) {
	const n = 30_000
	text := encode(t, csv(`"time [s]" ; "p [bar]"`, n, func(i int) string {
		return fmt.Sprintf(`"%.1f" ; "%.3f" `, float64(i)/10, 100-float64(i%1000)/100)
	}), "utf-16le with mark")
	f, err := ReadFrom("x.csv", bytes.NewReader(text), int64(len(text)), Settings{})
	require.NoError(t, err)
	require.Equal(t, n, f.Rows)
	for i, x := range f.Series.Columns[0].Value {
		require.InDelta(t, 1e7-float64(i%1000)*1000, x, 1e-3)
	}
}

// Memory: at most twice the columns' eight bytes a cell, and the buffers.
func TestMemoryIsThatOfTheColumns(t *testing.T) {
	const n = 300_000
	text := longHold(n)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f, err := ReadFrom("x.csv", bytes.NewReader(text), int64(len(text)), Settings{})
	runtime.ReadMemStats(&after)
	require.NoError(t, err)
	require.Len(t, f.Series.Columns, 3)
	const buffers = 6 << 20
	assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(2*8*4*n+buffers))
	assert.Less(t, after.Mallocs-before.Mallocs, uint64(n/10), "no allocation a row")
}

func TestNotesSayWhatWasMended(t *testing.T) {
	plain := rowOf("%.1f,%.3f")
	dated := func(i int) string {
		return fmt.Sprintf("03/%02d/2026 %02d:%02d:%02d,%.3f", 12+(i+10)/20, []int{23, 0}[(i+10)/20], []int{59, 0}[(i+10)/20], (i+50)%60, 100-float64(i)/100)
	}
	for _, c := range []struct {
		name, text string
		settings   Settings
		want       []string
	}{
		{"a few words", csv("time [s],p [bar]", 30, but(plain, map[int]string{4: "0.4,hm", 9: "0.9,hm"})), Settings{},
			[]string{`line 6: column "p [bar]": "hm" is no number: taken as no reading, and 1 more`, `column "p [bar]": 2 rows without a reading`}},
		{"a word in the first row", csv("time [s],p [bar],x", 30, but(rowOf("%.1f,%.3f,1"), map[int]string{0: "0.0,1F0.5,1"})), Settings{},
			[]string{`columns not used: "x"`, `line 2: column "p [bar]": "1F0.5" is no number: taken as no reading`, `column "p [bar]": 1 row without a reading`}},
		{"a number that stands for a fault", csv("time [s],p [bar],T [°C]", 30, but(rowOf("%.1f,%.3f,21"), map[int]string{3: "0.3,-9999,21", 4: "0.4,99,-999.9"})), Settings{},
			[]string{`column "p [bar]": 1 reading that nothing can have, such as -9999 bar: taken as no reading`, `column "p [bar]": 1 row without a reading`,
				`column "T [°C]": 1 reading that nothing can have, such as -999.9 °C: taken as no reading`, `column "T [°C]" has the same value in all readings`, `column "T [°C]": 1 row without a reading`}},
		{"own words", csv("time [s],p [bar]", 30, but(plain, map[int]string{4: "0.4,Hm", 9: "0.9,HM"})), Settings{NoReading: []string{"hm"}},
			[]string{`column "p [bar]": 2 rows without a reading`}},
		{"a remark", csv("time [s],p [bar],T [°C]", 30, but(rowOf("%.1f,%.3f,23.1"), map[int]string{4: "0.4,valve closed", 8: "# pause"})), Settings{},
			[]string{`line 6: "0.4,valve closed": no row of readings: left out`, `line 10: "# pause": no row of readings: left out`, `column "T [°C]" has the same value in all readings`}},
		{"cut short", strings.TrimSuffix(csv("time [s],p [bar],x", 30, rowOf("%.1f,%.3f,1")), ",99.710,1\n") + ",9", Settings{},
			[]string{`columns not used: "x"`, `line 31: the last line is cut short: left out`}},
		{"gap", csv("time [s],p [bar]", 30, func(i int) string { return fmt.Sprintf("%d,%.2f", i+i/20*100, 50-float64(i)/10) }), Settings{},
			[]string{"line 22: no rows for 101 s before it"}},
		{"same time twice", csv("time [s],p [bar]", 30, but(plain, map[int]string{5: "0.4,99.9"})), Settings{},
			[]string{"line 7: the same time as the row before: row left out"}},
		{"ambient pressure given", csv("time [s],p [bar]", 30, plain), Settings{Absolute: true, AmbientPressure: 99000},
			[]string{`column "p [bar]" is absolute pressure: 0.99 bar taken off (as given)`}},
		{"gauge says so itself", csv("time [s],p [barg]", 30, plain), Settings{Absolute: true}, nil},
		{"absolute by its name", csv("time [s],p abs [bar]", 30, plain), Settings{AmbientPressure: 99000},
			[]string{`column "p abs [bar]" is absolute pressure: 0.99 bar taken off (as given)`}},
		{"unit given against the header", csv("time [s],p [bar]", 30, plain), Settings{Columns: [Roles]Column{TrappedA: {Name: "p", Unit: "psi"}}},
			[]string{`column "p [bar]": read in psi as the settings say`}},
		{"month first after all", csv("time,p [bar]", 30, dated), Settings{},
			[]string{"dates are month, day, year: the file has some that can be read in no other order", utcNote}},
		{"no readings in a column", csv("time [s],p [bar],T [°C]", 30, rowOf("%.1f,%.3f,OL")), Settings{},
			[]string{`column "T [°C]" has no readings: not used`}},
		{"a role that shall have no column", csv("time [s],p [bar],T1 [°C],T2 [°C]", 30, rowOf("%.1f,%.3f,21,22")), Settings{Columns: [Roles]Column{Temperature: {Name: None}}},
			[]string{`columns not used: "T1 [°C]", "T2 [°C]"`}},
		{"blank lines and trailing delimiters", csv("time [s];p [bar];", 30, func(i int) string { return rowOf("%.1f;%.3f;\n\n;;")(i) }), Settings{}, nil},
		{"header given", csv("a,b\n1,2\ntime [s],p [bar]", 30, plain), Settings{HeaderLine: 3}, []string{"2 lines before the header in line 3"}},
		{"many remarks, few of many rows", csv("time [s],p [bar]", 9000, but(plain, map[int]string{10: "a", 20: "b", 30: "c", 40: "d", 50: "e", 60: "f", 70: "g"})), Settings{},
			[]string{`line 12: "a": no row of readings: left out`, `line 22: "b": no row of readings: left out`, `line 32: "c": no row of readings: left out`,
				`line 42: "d": no row of readings: left out`, `line 52: "e": no row of readings: left out`, `and 2 more: lines that are no rows of readings`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := read(t, c.text, c.settings)
			assert.Equal(t, c.want, f.Notes)
		})
	}
}

func TestAmbientPressureIsTakenOff(t *testing.T) {
	f := read(t, csv("time [s],p [bar abs],q feed [barg]", 30, rowOf("%.1f,%.3f,2")), Settings{AmbientPressure: 98000})
	assert.InDelta(t, 1e7-98000, f.Series.Columns[0].Value[0], 1e-6)
	assert.InDelta(t, 2e5, f.Series.Columns[1].Value[0], 1e-6)
	assert.Empty(t, f.AirU, "as given, exactly")
	f = read(t, csv("time [s],p [bar abs],q feed [barg]", 30, rowOf("%.1f,%.3f,2")), Settings{AmbientPressure: 98000, AmbientPressureU: 200})
	assert.Equal(t, map[string]float64{"trapped_a": 200}, f.AirU)
	f = read(t, csv("time [s],p [bar abs],q feed [barg]", 30, rowOf("%.1f,%.3f,2")), Settings{})
	assert.Equal(t, map[string]float64{"trapped_a": 3000}, f.AirU, "the standard atmosphere stands for a room's")
}

// A mark of three figures is decimal where otherwise no pressure could be so
// high, or a later figure shows it.
func TestDecimalMarkIsShownNotGuessed(t *testing.T) {
	f := read(t, csv("Zeit [s];p [bar]", 30, func(i int) string { return fmt.Sprintf("%d;100,%03d", i, 900-i) }), Settings{})
	assert.InDelta(t, 100.9e5, f.Series.Columns[0].Value[0], 1e-3)
	f = read(t, csv("Zeit [s];p [psi];T [°C]", 30, func(i int) string { return fmt.Sprintf("%d;1,%03d;23,125", i, 900-i) }), Settings{})
	assert.InDelta(t, 23.125+273.15, f.Series.Columns[1].Value[0], 1e-9)
	f = read(t, csv("Zeit [s];p [psi]", 30, func(i int) string { return fmt.Sprintf("%d;1,%03d", i, 900-i) }), Settings{Decimal: "comma"})
	assert.InDelta(t, 1.9*6894.757, f.Series.Columns[0].Value[0], 0.01)
	f = read(t, csv("time [s],p [psi]", 30, func(i int) string { return fmt.Sprintf("%d,1.%03d", i, 900-i) }), Settings{})
	assert.InDelta(t, 1.9*6894.757, f.Series.Columns[0].Value[0], 0.01)
}

func TestInvariantsOfTheSeries(t *testing.T) {
	f := read(t, csv("time [s],p [bar],T [°C]", 30, rowOf("%.1f,%.3f,21")), Settings{})
	checkInvariants(t, f)
}

// checkInvariants are what everybody may rely on.
func checkInvariants(t testing.TB, f *File) {
	trapped := 0
	for _, c := range f.Series.Columns {
		require.Equal(t, len(c.Time), len(c.Value))
		for i := 1; i < len(c.Time); i++ {
			require.Greater(t, c.Time[i], c.Time[i-1])
		}
		require.False(t, slices.ContainsFunc(c.Value, func(x float64) bool { return math.IsInf(x, 0) }))
		require.GreaterOrEqual(t, c.Time[0], 0.0)
		if c.Name == "trapped_a" || c.Name == "trapped_b" {
			trapped++
			require.GreaterOrEqual(t, c.Valid().Len(), 10)
		}
		require.NotZero(t, f.Units[c.Name].Factor)
	}
	require.Positive(t, trapped)
	require.Positive(t, f.Interval)
}
