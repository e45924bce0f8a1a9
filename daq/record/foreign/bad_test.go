package foreign

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/strict"
)

// table of rows: a header and n rows made by row.
func csv(header string, n int, row func(i int) string) string {
	var b strings.Builder
	b.WriteString(header + "\n")
	for i := range n {
		b.WriteString(row(i) + "\n")
	}
	return b.String()
}

func rowOf(format string) func(i int) string {
	return func(i int) string {
		return fmt.Sprintf(format, float64(i)/10, 100-float64(i)/100)
	}
}

// but gives row i another text.
func but(row func(i int) string, others map[int]string) func(i int) string {
	return func(i int) string {
		if other, ok := others[i]; ok {
			return other
		}
		return row(i)
	}
}

func TestBadInputIsOneClearLine(t *testing.T) {
	plain := rowOf("%.1f,%.3f")
	stamp := func(layout string) func(i int) string {
		return func(i int) string { return fmt.Sprintf(layout, i, 100-float64(i)/100) }
	}
	for _, c := range []struct {
		name, text string
		settings   Settings
		want       string
	}{
		{"no pressure", csv("time [s],level", 30, plain), Settings{},
			`x.csv:1: found the columns "time [s]", "level", want a pressure column; say which it is, e.g. --circuit "a=level [bar]"`},
		{"no time", csv("index,pressure [bar]", 30, plain), Settings{},
			`x.csv:1: found the columns "index", "pressure [bar]", want a time column; say which it is, e.g. --time "1 [s]"`},
		{"no header", strings.TrimPrefix(csv("", 30, plain), "\n"), Settings{},
			`x.csv: found 2 columns without names, want a time column; say which it is, e.g. --time "1 [s]"`},
		{"no unit", csv("time [s],pressure", 30, plain), Settings{},
			`x.csv:1: column "pressure": found no unit, want the unit of a pressure, e.g. bar, psi, kPa, MPa; say it with --circuit "a=pressure [bar]"`},
		{"no unit of temperature", csv("time [s],p [bar],temp", 30, rowOf("%.1f,%.3f,23.5")), Settings{},
			`x.csv:1: column "temp": found no unit, want the unit of a temperature: °C, °F, K; say it with --temperature "temp [°C]"`},
		{"unit unknown", csv("time [s],pressure [stone]", 30, plain), Settings{},
			`x.csv:1: column "pressure [stone]": found unit "stone", want the unit of a pressure, e.g. bar, psi, kPa, MPa; say it with --circuit "a=pressure [bar]"`},
		{"unit of two meanings", csv("time [s],pressure [mpa]", 30, plain), Settings{},
			`x.csv:1: column "pressure [mpa]": found unit "mpa", want the unit of a pressure, e.g. bar, psi, kPa, MPa; say it with --circuit "a=pressure [bar]"`},
		{"two pressures", csv("time [s],P1 [bar],P2 [bar]", 30, rowOf("%.1f,%.3f,1")), Settings{},
			`x.csv:1: trapped pressure of circuit a: found 2 columns that could be it: "P1 [bar]", "P2 [bar]", want one of them by name or number, e.g. --circuit a=P1`},
		{"two of one name", csv("time [s],p [bar],p [bar]", 30, rowOf("%.1f,%.3f,1")), Settings{},
			`x.csv:1: trapped pressure of circuit a: found 2 columns that could be it: "p [bar]", "p [bar]", want one of them by name or number, e.g. --circuit a=2`},
		{"two temperatures", csv("time [s],p [bar],T1 [°C],T2 [°C]", 30, rowOf("%.1f,%.3f,1,2")), Settings{},
			`x.csv:1: liquid temperature: found 2 columns that could be it: "T1 [°C]", "T2 [°C]", want one of them by name or number, e.g. --temperature T1`},
		{"no such column", csv("time [s],p [bar]", 30, plain), Settings{Columns: [Roles]Column{TrappedA: {Name: "q"}}},
			`x.csv:1: trapped pressure of circuit a: found the columns "time [s]", "p [bar]", want a column "q"`},
		{"no such number", csv("time [s],p [bar]", 30, plain), Settings{Columns: [Roles]Column{TrappedA: {Number: 7}}},
			`x.csv:1: trapped pressure of circuit a: found column 7, want a column from 1 to 2`},
		{"words", csv("time [s],p [bar]", 30, func(i int) string { return fmt.Sprintf("0.%02d,high", i) }), Settings{},
			`x.csv:2: column "p [bar]": found "high" (30 cells that are no numbers), want numbers; words of the logger's own for "no reading" can be given with no_reading in a settings file`},
		{"many words", csv("time [s],p [bar],T [°C]", 30, but(rowOf("%.1f,%.3f,23.1"), map[int]string{
			3: "0.3,warm,20.1", 4: "0.4,warm,20.2", 5: "0.5,warm,20", 6: "0.6,warm,20", 7: "0.7,warm,20", 8: "0.8,warm,20"})), Settings{},
			`x.csv:5: column "p [bar]": found "warm" (6 cells that are no numbers), want numbers; words of the logger's own for "no reading" can be given with no_reading in a settings file`},
		{"too few", csv("time [s],p [bar]", 9, plain), Settings{},
			`x.csv: column "p [bar]": found 9 readings, want at least 10`},
		{"too few among gaps", csv("time [s],p [bar],q", 40, func(i int) string {
			return fmt.Sprintf("%d,%s,%d", i, []string{"OL", "1." + fmt.Sprint(i)}[max(0, i-30)/max(1, i-30)], i)
		}), Settings{},
			`x.csv: column "p [bar]": found 9 readings, want at least 10`},
		{"constant", csv("time [s],p [bar]", 30, func(i int) string { return fmt.Sprintf("%d,100.25", i) }), Settings{},
			`x.csv: column "p [bar]": found the same value in all 30 readings, 100.25 bar, want a pressure that is measured: it never stays quite the same`},
		{"constant circuit of two", csv("time [s],p_a [bar],p_b [bar]", 30, rowOf("%.1f,%.3f,0.00")), Settings{},
			`x.csv: column "p_b [bar]": found the same value in all 30 readings, 0 bar, want a pressure that is measured: it never stays quite the same; without this circuit: --circuit b=none`},
		{"impossible", csv("time [s],p [MPa]", 30, func(i int) string { return fmt.Sprintf("%d,%d", i, 100000-i) }), Settings{},
			`x.csv: column "p [MPa]": found 30 readings that nothing can have, such as 100000 MPa, want readings from -1.5 bar to 10000 bar (is the unit right?)`},
		{"no rows", "time [s],p [bar]\n", Settings{},
			`x.csv: found no rows of readings, want a CSV file of readings: rows of a time and a pressure, parted by comma, semicolon or tab`},
		{"prose", strings.Repeat("The unit was tested on a Tuesday.\n", 30), Settings{},
			`x.csv: found no rows of readings, want a CSV file of readings: rows of a time and a pressure, parted by comma, semicolon or tab`},
		{"thousands by comma, quoted", csv("time [s],p [bar]", 30, but(plain, map[int]string{20: `2.0,"1,100.5"`})), Settings{},
			`x.csv:22: column "p [bar]": found "1,100.5", want a number without thousands marks, with a decimal point (export without digit grouping, or say --decimal comma)`},
		{"thousands by comma, bare", csv("time [s],p [bar]", 30, but(plain, map[int]string{20: `2.0,1,100.5`})), Settings{},
			`x.csv:22: found 3 cells in a row, want as many as in the others: 2 (figures with thousands marks? export without digit grouping)`},
		{"thousands by point", csv("Zeit [s];p [bar]", 30, but(func(i int) string { return strings.ReplaceAll(rowOf("%.1f;%.3f")(i), ".", ",") }, map[int]string{20: `2,0;1.100,5`})), Settings{},
			`x.csv:22: column "p [bar]": found "1.100,5", want a number without thousands marks, with a decimal comma (export without digit grouping, or say --decimal point)`},
		{"thousands by apostrophe", csv("time [s];p [bar]", 30, but(rowOf("%.1f;%.3f"), map[int]string{20: `2.0;1'100.5`})), Settings{},
			`x.csv:22: column "p [bar]": found "1'100.5", want a number without thousands marks, with a decimal point (export without digit grouping, or say --decimal comma)`},
		{"thousands by blank", csv("time [s];p [bar]", 30, but(rowOf("%.1f;%.3f"), map[int]string{20: "2.0;1\u00a0100.5"})), Settings{},
			"x.csv:22: column \"p [bar]\": found \"1\\u00a0100.5\", want a number without thousands marks, with a decimal point (export without digit grouping, or say --decimal comma)"},
		{"thousands in the time", csv("time [s];p [bar]", 30, but(rowOf("%.1f;%.3f"), map[int]string{20: "1,002.0;99.1"})), Settings{},
			`x.csv:22: column "time [s]": found "1,002.0", want a number without thousands marks, with a decimal point (export without digit grouping, or say --decimal comma)`},
		{"mark of two meanings", csv("time [s];p [psi]", 30, func(i int) string { return fmt.Sprintf("%d;1,%03d", i, 500-i) }), Settings{},
			`x.csv:2: found "1,500" and nothing in the file that shows whether its mark is a decimal mark, want --decimal comma if it is one; if it parts thousands, an export without digit grouping`},
		{"decimal commas between commas", csv("time [s],p [bar]", 30, func(i int) string { return fmt.Sprintf("%d,%d,%d,%03d", i/10, i%10, 100, i) }), Settings{},
			`x.csv:2: found 4 cells in a row, want as many as the header has names: 2 (decimal commas or thousands marks cannot be told from commas between cells: export with decimal points, or with semicolons between cells)`},
		{"ambiguous date", csv("time,p [bar]", 30, stamp("03/04/2026 12:00:%02d,%.3f")), Settings{},
			`x.csv:2: dates: found "03/04/2026" and no date in the file that shows which number is the month, want to know their order: --time-format dmy (day, month, year), or --time-format mdy (month, day, year)`},
		{"ambiguous year", csv("time,p [bar]", 30, stamp("03-04-05 12:00:%02d,%.3f")), Settings{},
			`x.csv:2: dates: found "03-04-05" and no date in the file that shows which number is the month, want to know their order: --time-format dmy (day, month, year), or --time-format mdy (month, day, year), or --time-format ymd (year, month, day)`},
		{"two numbers of time", csv("time,p [bar]", 30, stamp("12:%02d,%.3f")), Settings{},
			`x.csv:2: time: found "12:00", want to know what the two numbers are: --time-format mm:ss or --time-format hh:mm`},
		{"two records", csv("time [s],p [bar]", 30, plain) + csv("0,100", 30, plain), Settings{},
			`x.csv:32: time: found times that run backwards, in 30 of 61 rows, want rows in the order of time, one record a file`},
		{"clock stands", csv("time [s],p [bar]", 30, rowOf("5,%[2]f")), Settings{},
			`x.csv:3: time: found the same time in every row, want times that run`},
		{"many lines that are none", csv("time [s],p [bar]", 30, but(plain, map[int]string{
			3: "on", 4: "off", 5: "on", 6: "off", 7: "on", 8: "off"})), Settings{},
			`x.csv:5: found "on" (6 such lines), want rows of readings, a time first`},
		{"empty", "", Settings{}, `x.csv: found an empty file, want a CSV file of readings`},
		{"blank", "\r\n\r\n  \r\n", Settings{}, `x.csv: found a file of blanks, want a CSV file of readings`},
		{"byte order mark alone", "\ufeff", Settings{}, `x.csv: found a file of blanks, want a CSV file of readings`},
		{"binary", string(bytes.Repeat([]byte{0, 1, 2, 3, 200, 255, 17}, 100)), Settings{}, `x.csv: found a binary file, want a CSV file of readings (export or save it as CSV)`},
		{"spreadsheet", "PK\x03\x04\x14\x00", Settings{}, `x.csv: found a spreadsheet or an archive (a zip file), want a CSV file of readings (export or save it as CSV)`},
		{"zeros", string(make([]byte, 5000)), Settings{}, `x.csv: found a binary file, want a CSV file of readings (export or save it as CSV)`},
		{"one long line", strings.Repeat("1,2,3 ", 60_000), Settings{}, `x.csv:1: found a line of more than 256 KB, want a CSV file of readings, a row a line`},
		{"long line later", csv("time [s],p [bar]", 20_000, plain) + strings.Repeat("1,2,3 ", 100_000), Settings{}, `x.csv:20002: found a line of more than 512 KB, want a CSV file of readings, a row a line`},
		{"wrong delimiter word", csv("time [s],p [bar]", 30, plain), Settings{Delimiter: ";"}, `x.csv: delimiter: found ";", want comma, semicolon, tab`},
		{"wrong zone", csv("time [s],p [bar]", 30, plain), Settings{Zone: "Atlantis/Harbour"},
			`x.csv: time zone: found "Atlantis/Harbour", want an offset or a name that this machine knows, e.g. "+01:00" or "Europe/Berlin"`},
		{"unit of the time", csv("time [s],p [bar]", 30, plain), Settings{Columns: [Roles]Column{Time: {Unit: "bar"}}},
			`x.csv:1: time: found unit "bar", want s, ms, min, h or d; say it with --time "COLUMN [s]"`},
		{"the same column twice", csv("time [s],p [bar]", 30, plain), Settings{Columns: [Roles]Column{TrappedA: {Number: 2}, Feed: {Number: 2}}},
			`x.csv: feed pressure: found column 2, want another one than that of the trapped pressure of circuit a`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadFrom("x.csv", strings.NewReader(c.text), int64(len(c.text)), c.settings)
			require.EqualError(t, err, c.want)
			var fault *strict.Error
			assert.ErrorAs(t, err, &fault)
			assert.NotContains(t, err.Error(), "\n")
		})
	}
}

func TestFilesThatAreNone(t *testing.T) {
	dir := t.TempDir()
	huge := filepath.Join(dir, "huge.csv")
	f, err := os.Create(huge)
	require.NoError(t, err)
	require.NoError(t, f.Truncate(10<<30))
	require.NoError(t, f.Close())
	for path, want := range map[string]string{
		dir:                          ": found a folder, want a CSV file of readings",
		huge:                         ": found a file of 10 GB, want at most 2 GB (cut it into parts, or record at a slower rate)",
		filepath.Join(dir, "no.csv"): ": found no such file, want a CSV file of readings",
	} {
		_, err := Read(path, Settings{})
		assert.EqualError(t, err, path+want)
		var fault *strict.Error
		assert.ErrorAs(t, err, &fault)
	}
	_, err = Read(filepath.Join(dir, "no.csv"), Settings{})
	assert.ErrorIs(t, err, fs.ErrNotExist)
	if _, err := os.Stat(os.DevNull); err == nil && os.PathSeparator == '/' {
		_, err = Read(os.DevNull, Settings{})
		assert.EqualError(t, err, os.DevNull+": found a device or pipe, want a CSV file of readings")
	}
}

// broken fails after its first bytes.
type broken struct {
	text []byte
	upTo int64
}

var errUnplugged = errors.New("unplugged")

func (b broken) ReadAt(p []byte, at int64) (int, error) {
	if at+int64(len(p)) > b.upTo {
		return 0, errUnplugged
	}
	return copy(p, b.text[at:]), nil
}

func TestFileThatCannotBeReadSaysWhy(t *testing.T) {
	text := []byte(csv("time [s],p [bar]", 100_000, rowOf("%.1f,%.3f")))
	for _, upTo := range []int64{0, headSize, int64(len(text)) - 1} {
		_, err := ReadFrom("x.csv", broken{text, upTo}, int64(len(text)), Settings{})
		assert.ErrorIs(t, err, errUnplugged)
		assert.EqualError(t, err, "x.csv: found a file that cannot be read (unplugged), want a CSV file of readings")
	}
	if os.Geteuid() == 0 || os.PathSeparator != '/' {
		t.Log("a file without permission is tried where the user is not root")
		return
	}
	path := filepath.Join(t.TempDir(), "secret.csv")
	require.NoError(t, os.WriteFile(path, text, 0))
	_, err := Read(path, Settings{})
	assert.EqualError(t, err, path+": found a file that may not be read, want a CSV file of readings")
}
