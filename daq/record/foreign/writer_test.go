package foreign

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"holdbench/analysis/si"
)

// holdRow is one instant of an invented hold, in bar and °C; mark D.
type holdRow struct {
	at      time.Duration
	reading [Roles]float64
}

// inventedHold is 6 s at 10 Hz of a hold that leaks a little.
func inventedHold() []holdRow {
	rows := make([]holdRow, 60)
	for i := range rows {
		r := &rows[i]
		r.at = time.Duration(i) * 100 * time.Millisecond
		r.reading[TrappedA] = thousandths(100412 - 3*i + i%3)
		r.reading[TrappedB] = thousandths(99870 - i + 2*(i%2))
		r.reading[Feed] = thousandths(120 + i%4)
		r.reading[Temperature] = thousandths(23400 + 10*(i/10))
		r.reading[Ambient] = thousandths(21500 + 100*(i/30))
	}
	return rows
}

func thousandths(n int) float64 { return float64(n) / 1000 }

// field is a column as a logger of some style writes it.
type field struct {
	role   Role
	header string
	// unit is that of the figures; decimals as written; exponent for 1.0E+02.
	unit     string
	decimals int
	exponent bool
	// text gives the cell instead: of the time, or of a column of no use.
	text func(i int, at time.Duration) string
	// gap says where a word stands for a reading; and which.
	gap func(i int) string
}

// style is how a logger writes its file.
type style struct {
	fields    []field
	delimiter string
	comma     bool // decimal comma
	quoted    bool
	lineEnd   string
	before    string // lines before the header, with their ends
	noHeader  bool
	after     string // lines after the rows
	// between gives lines before row i; order changes that of the rows.
	between func(i int) string
	order   []int
	coding  string
}

// write writes the rows in this style.
func (s style) write(t testing.TB, rows []holdRow) []byte {
	if s.delimiter == "" {
		s.delimiter = ","
	}
	if s.lineEnd == "" {
		s.lineEnd = "\n"
	}
	var b strings.Builder
	b.WriteString(strings.ReplaceAll(s.before, "\n", s.lineEnd))
	if !s.noHeader {
		b.WriteString(s.header() + s.lineEnd)
	}
	for n := range rows {
		i := n
		if s.order != nil {
			i = s.order[n]
		}
		if s.between != nil {
			b.WriteString(strings.ReplaceAll(s.between(i), "\n", s.lineEnd))
		}
		cells := make([]string, len(s.fields))
		for k, f := range s.fields {
			cells[k] = s.cell(t, f, i, rows[i])
		}
		b.WriteString(strings.Join(cells, s.delimiter) + s.lineEnd)
	}
	b.WriteString(strings.ReplaceAll(s.after, "\n", s.lineEnd))
	return encode(t, b.String(), s.coding)
}

func (s style) header() string {
	names := make([]string, len(s.fields))
	for i, f := range s.fields {
		names[i] = s.quote(f.header)
	}
	return strings.Join(names, s.delimiter)
}

func (s style) quote(text string) string {
	if s.quoted {
		return `"` + text + `"`
	}
	return text
}

func (s style) cell(t testing.TB, f field, i int, r holdRow) string {
	if f.gap != nil {
		if word := f.gap(i); word != "-" {
			return s.quote(strings.TrimPrefix(word, "~"))
		}
	}
	if f.text != nil {
		return s.quote(f.text(i, r.at))
	}
	text := s.figure(t, f, r.reading[f.role])
	if s.comma {
		text = strings.Replace(text, ".", ",", 1)
	}
	return s.quote(text)
}

// figure writes a reading (bar or °C) in the field's unit.
func (s style) figure(t testing.TB, f field, x float64) string {
	q, own := roles[f.role].quantity, "bar"
	if q == si.Temperature {
		own = "°C"
	}
	from, err := si.ParseUnit(own, q)
	require.NoError(t, err)
	to, _, ok := parseUnit(f.unit)
	require.True(t, ok, f.unit)
	shift := 0.0
	if strings.Contains(f.unit, "(a)") {
		shift = standardAtmosphere
	}
	format := byte('f')
	if f.exponent {
		format = 'E'
	}
	return strconv.FormatFloat(to.FromSI(from.ToSI(x)+shift), format, f.decimals, 64)
}

func encode(t testing.TB, text, coding string) []byte {
	var b []byte
	var err error
	switch coding {
	case "utf-8 with mark":
		return []byte("\ufeff" + text)
	case "windows-1252":
		b, err = charmap.Windows1252.NewEncoder().Bytes([]byte(text))
	case "utf-16le with mark":
		b, err = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().Bytes([]byte(text))
	case "utf-16be":
		b, err = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewEncoder().Bytes([]byte(text))
	default:
		return []byte(text)
	}
	require.NoError(t, err)
	return b
}

// Ways of writing the time.

func secondsText(i int, at time.Duration) string {
	return strconv.FormatFloat(at.Seconds(), 'f', 1, 64)
}

func numberOf(unit time.Duration, decimals int, mark string) func(int, time.Duration) string {
	return func(_ int, at time.Duration) string {
		text := strconv.FormatFloat(float64(at)/float64(unit), 'f', decimals, 64)
		return strings.Replace(text, ".", mark, 1)
	}
}

// stampFrom writes stamps of a clock that reads start at the first row.
func stampFrom(start, layout string) func(int, time.Duration) string {
	begin, err := time.Parse("2006-01-02 15:04:05", start)
	if err != nil {
		panic(err)
	}
	return func(_ int, at time.Duration) string { return begin.Add(at).Format(layout) }
}

// timeField is the column of time in the first place of most styles.
func timeField(header string, text func(int, time.Duration) string) field {
	return field{role: Time, header: header, text: text}
}

// useless is a column that is no reading.
func useless(header, text string) field {
	return field{role: Time, header: header, text: func(i int, _ time.Duration) string { return strings.ReplaceAll(text, "%d", strconv.Itoa(i+1)) }}
}

// everyRow swaps nothing: rows in order but for the pairs given.
func swapped(n int, pairs ...[2]int) []int {
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	for _, p := range pairs {
		order[p[0]], order[p[1]] = order[p[1]], order[p[0]]
	}
	return order
}

// wantSeries compares what was read with the rows it was written from, to
// within the last figure that the style writes.
func wantSeries(t *testing.T, f *File, s style, rows []holdRow, missing []int) {
	t.Helper()
	rows = slices.DeleteFunc(slices.Clone(rows), func(r holdRow) bool {
		return slices.Contains(missing, int(r.at/(100*time.Millisecond)))
	})
	for _, field := range s.fields {
		if field.unit == "" {
			continue
		}
		c, ok := f.Series.Column(field.role.String())
		require.True(t, ok, field.header)
		unit, _, _ := parseUnit(field.unit)
		tolerance := math.Pow(10, -float64(field.decimals)) * unit.Factor
		if field.exponent {
			tolerance *= 1000
		}
		k := 0
		for i, r := range rows {
			if field.gap != nil && field.gap(i) == "~" && c.Len() < len(rows) {
				continue // a slower column keeps its own pace
			}
			require.InDelta(t, r.at.Seconds(), c.Time[k], 1e-9, "%s row %d", field.header, i)
			if field.gap != nil && field.gap(i) != "-" {
				require.True(t, math.IsNaN(c.Value[k]), "%s row %d is %g", field.header, i, c.Value[k])
			} else {
				require.InDelta(t, roleSI(field.role, r.reading[field.role]), c.Value[k], tolerance*0.6, "%s row %d", field.header, i)
			}
			k++
		}
		require.Equal(t, k, c.Len(), field.header)
	}
}

// roleSI is a reading in bar or °C in SI.
func roleSI(r Role, x float64) float64 {
	if roles[r].quantity == si.Pressure {
		return x * 1e5
	}
	return x + 273.15
}

func describeSeries(f *File) string {
	var b strings.Builder
	for _, c := range f.Series.Columns {
		fmt.Fprintf(&b, "%s[%s] ", c.Name, f.Units[c.Name].Symbol)
	}
	return strings.TrimSpace(b.String())
}
