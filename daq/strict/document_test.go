package strict_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// lines returns the text of every fault.
func lines(err error) []string {
	if err == nil {
		return nil
	}
	return strings.Split(err.Error(), "\n")
}

// read asks a document for keys of every kind.
func read(text string) error {
	root, faults := strict.ParseTOML("f.toml", []byte(text))
	if root == nil {
		return faults.Err()
	}
	root.Optional("text").Text()
	root.Optional("name").Name()
	root.Optional("one").OneOf("red", "green")
	root.Optional("count").Int(1, 9)
	root.Optional("share").Number("a number from 0 to 1", func(x float64) bool { return x >= 0 && x <= 1 })
	root.Optional("day").Day()
	root.Optional("pressure").Quantity(si.Pressure)
	root.Optional("accuracy").NotNegative(si.PressureChange)
	root.Optional("above").Positive(si.Pressure)
	root.Optional("ratio").NotNegative(si.Dimensionless)
	root.Optional("air").Uncertain(si.Pressure)
	root.Optional("range").Range(si.Temperature)
	root.Optional("wait").Duration(1e6, 60e9)
	root.Optional("list").List("some words", 2)
	for _, t := range root.Optional("part").Tables() {
		t.Required("name").Name()
		if below := t.Optional("below").Table(); below != nil {
			below.Optional("size").Int(1, 9)
		}
	}
	root.Close()
	return faults.Err()
}

func TestEachFaultNamesLineKeyFoundAndWanted(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"nothing", "", nil},
		{"syntax", "count = 1\nshare 0.5\n", []string{
			`f.toml:2: found "share 0.5", want key = value`}},
		{"no value", "count = 1\n\ntext =\n", []string{
			`f.toml:3: found "text =", want a value after "=": a number, true or false, a date, or a text in quotes`}},
		{"text without quotes", "text = oil\n", []string{
			`f.toml:1: found "text = oil", want a value after "=": a number, true or false, a date, or a text in quotes`}},
		{"impossible date", "count = 1\nday = 2026-02-30\n", []string{
			`f.toml:2: found "day = 2026-02-30", want a day of the calendar`}},
		{"no key", "= 3\n", []string{
			`f.toml:1: found "= 3", want a key of letters, digits, _ and -, then = and a value`}},
		{"two values", "text = \"4\" \"mA\"\n", []string{
			`f.toml:1: found "text = \"4\" \"mA\"", want one key = value a line, each text in one pair of quotes`}},
		{"open quote", "text = \"oil\ncount = 1\n", []string{
			`f.toml:1: found "text = \"oil", want the closing quote on the same line`}},
		{"backslash", "text = \"C:\\Users\"\n", []string{
			`f.toml:1: found "text = \"C:\\Users\"", want \\ for a backslash in a text, or single quotes around it: 'C:\bench\file.toml'`}},
		{"open list", "list = [1, 2\n", []string{
			`f.toml:1: found "list = [1, 2", want a list that is closed with "]"`}},
		{"no comma", "list = [1 2]\n", []string{
			`f.toml:1: found "list = [1 2]", want a comma between the values of a list, and "]" after the last`}},
		{"empty place in a list", "list = [1, , 2]\n", []string{
			`f.toml:1: found "list = [1, , 2]", want a value here`}},
		{"open bracket", "[part\n", []string{
			`f.toml:1: found "[part", want "]" after the table's name`}},
		{"open brackets", "[[part]\n", []string{
			`f.toml:1: found "[[part]", want "]]" after the table's name`}},
		{"leading zero", "count = 007\n", []string{
			`f.toml:1: found "count = 007", want a number without leading zeros`}},
		{"not UTF-8", "# \xe4\n", []string{
			`f.toml:1: found "# �", want a file saved as UTF-8`}},
		{"anything else", "count = 99999999999999999999\n", []string{
			`f.toml:1: found "count = 99999999999999999999", want TOML (decimal number is too large to fit in a 64-bit signed integer)`}},
		{"twice", "count = 1\ntext = \"x\"\ncount = 2\n", []string{
			`f.toml:3: count: found it a second time, want it once (first in line 1)`}},
		{"twice and syntax, all at once", "count = 1\ncount = 2\ncount = 3\ntext =\n", []string{
			`f.toml:2: count: found it a second time, want it once (first in line 1)`,
			`f.toml:3: count: found it a second time, want it once (first in line 1)`,
			`f.toml:4: found "text =", want a value after "=": a number, true or false, a date, or a text in quotes`}},
		{"one bracket too few", "[[part]]\nname = \"x\"\n[part]\nname = \"y\"\n", []string{
			`f.toml:3: part: found [part], want [[part]] as in line 1`}},
		{"table twice", "[[part]]\n[part.below]\n[part.below]\n", []string{
			`f.toml:3: [below]: found it a second time, want it once (first in line 2)`}},
		{"a table where a list belongs", "[part]\nname = \"x\"\n", []string{
			`f.toml:1: part: found a table, want at least one table [[part]]`}},
		{"list of something else", "part = [1]\n", []string{
			`f.toml:1: part: item 1: found 1, want a table [[part]]`}},
		{"value where a table belongs", "[[part]]\nname = \"x\"\nbelow = 3\n", []string{
			`f.toml:3: part "x": below: found 3, want a table [part.below]`}},
		{"unknown key with a near one", "coutn = 1\n", []string{
			`f.toml:1: coutn: found an unknown key, want "count"?`}},
		{"case matters", "Count = 1\n", []string{
			`f.toml:1: Count: found an unknown key, want "count"?`}},
		{"unknown key", "[[part]]\nname = \"x\"\n\nzebra = 1\n", []string{
			`f.toml:4: part "x": zebra: found an unknown key, want one of below, name`}},
		{"a key that would break the line", "\"a\\nb c\" = 1\n", []string{
			`f.toml:1: "a\nb c": found an unknown key, want one of above, accuracy, air, count, day, list, name, one, part, pressure, range, ratio, share, text, wait`}},
		{"unknown table", "[zebra]\nx = 1\n", []string{
			`f.toml:1: zebra: found an unknown key, want one of above, accuracy, air, count, day, list, name, one, part, pressure, range, ratio, share, text, wait`}},
		{"missing key in an element without a name", "[[part]]\nname = \"x\"\n[[part]]\n", []string{
			`f.toml:3: part 2: name: found nothing, want a name of letters, digits, "_", "-" and "."`}},
		{"below", "[[part]]\nname = \"x\"\n[part.below]\nsize = 10\n", []string{
			`f.toml:4: part "x": below: size: found 10, want a whole number from 1 to 9`}},
		{"dotted and inline", "[[part]]\nname = \"x\"\nbelow.size = true\n[[part]]\nname = \"y\"\nbelow = { size = 1.5 }\n", []string{
			`f.toml:3: part "x": below: size: found true, want a whole number from 1 to 9`,
			`f.toml:6: part "y": below: size: found 1.5, want a whole number from 1 to 9`}},
		{"wrong types, in our own words", "text = 1\nname = [\"x\"]\none = 2026-01-01\ncount = \"3\"\nshare = \"0.5\"\nday = \"2026-01-01\"\npressure = true\nrange = 5\nwait = 07:00:00\nlist = {}\n", []string{
			`f.toml:1: text: found 1, want a text in quotes, on one line`,
			`f.toml:2: name: found ["x"], want a name of letters, digits, "_", "-" and "."`,
			`f.toml:3: one: found 2026-01-01, want "red" or "green"`,
			`f.toml:4: count: found "3", want a whole number from 1 to 9`,
			`f.toml:5: share: found "0.5", want a number from 0 to 1`,
			`f.toml:6: day: found "2026-01-01", want a date without quotes, e.g. 2026-03-02`,
			`f.toml:7: pressure: found true, want a pressure with unit, e.g. "100 bar"`,
			`f.toml:8: range: found 5, want a list of two, the lower one first, e.g. ["-20 °C", "120 °C"]`,
			`f.toml:9: wait: found a time of day, want a time with unit, from "1 ms" to "1 min"`,
			`f.toml:10: list: found a table, want some words`}},
		{"texts", "text = \"  \"\nname = \"a b\"\none = \"blue\"\n", []string{
			`f.toml:1: text: found "  ", want a text in quotes, on one line`,
			`f.toml:2: name: found "a b", want a name of letters, digits, "_", "-" and "."`,
			`f.toml:3: one: found "blue", want "red" or "green"`}},
		{"line break in a text", "text = \"a\\nb\"\n", []string{
			`f.toml:1: text: found "a\nb", want a text in quotes, on one line`}},
		{"numbers", "count = 0\nshare = nan\n", []string{
			`f.toml:1: count: found 0, want a whole number from 1 to 9`,
			`f.toml:2: share: found nan, want a number from 0 to 1`}},
		{"infinite", "share = inf\nratio = -inf\n", []string{
			`f.toml:1: share: found inf, want a number from 0 to 1`,
			`f.toml:2: ratio: found -inf, want a number, zero or more, e.g. "0.05" or "5 %"`}},
		{"missing unit", "pressure = 400\nabove = \"400\"\n", []string{
			`f.toml:1: pressure: found 400, want a pressure with unit, e.g. "400 bar"`,
			`f.toml:2: above: found 400, want a pressure with unit, e.g. "400 bar"`}},
		{"another quantity", "pressure = \"20 °C\"\n", []string{
			`f.toml:1: pressure: found "20 °C", a temperature, want a pressure in Pa, hPa, kPa, MPa, bar, mbar, psi, ksi, kgf/cm², at, atm, Torr, mmHg, inHg, mmH2O, inH2O, ftH2O, e.g. "100 bar"`}},
		{"no quantity", "pressure = \"much\"\naccuracy = \"-1 bar\"\nabove = \"0 bar\"\n", []string{
			`f.toml:1: pressure: found "much", want a pressure with unit, e.g. "100 bar"`,
			`f.toml:2: accuracy: found "-1 bar", want a pressure change with unit, zero or more, e.g. "2 bar"`,
			`f.toml:3: above: found "0 bar", want a pressure with unit, above zero, e.g. "100 bar"`}},
		{"a long text is shortened", "pressure = \"" + strings.Repeat("x", 100) + "\"\n", []string{
			`f.toml:1: pressure: found "` + strings.Repeat("x", 39) + `…", want a pressure with unit, e.g. "100 bar"`}},
		{"without uncertainty", "air = \"1013 mbar\"\n", []string{
			`f.toml:1: air: found "1013 mbar", want a pressure ± its standard uncertainty in Pa, hPa, kPa, MPa, bar, mbar, psi, ksi, kgf/cm², at, atm, Torr, mmHg, inHg, mmH2O, inH2O, ftH2O, e.g. "100 ± 0.5 bar"`}},
		{"uncertainty of nothing", "air = 1013\n", []string{
			`f.toml:1: air: found 1013, want a pressure ± its standard uncertainty in Pa, hPa, kPa, MPa, bar, mbar, psi, ksi, kgf/cm², at, atm, Torr, mmHg, inHg, mmH2O, inH2O, ftH2O, e.g. "100 ± 0.5 bar"`}},
		{"range upside down", "range = [\"20 °C\",\n \"10 °C\"]\n", []string{
			`f.toml:1: range: found ["20 °C", "10 °C"], want a list of two, the lower one first, e.g. ["-20 °C", "120 °C"]`}},
		{"an element's own line", "range = [\n \"20 °C\",\n \"50\"]\n", []string{
			`f.toml:3: range: high: found 50, want a temperature with unit, e.g. "50 °C"`}},
		{"time-out under a millisecond", "wait = \"0.5 ms\"\n", []string{
			`f.toml:1: wait: found "0.5 ms", want a time with unit, from "1 ms" to "1 min"`}},
		{"lists as found", "list = []\nrange = [1, \"2\", true]\ncount = [[1, [2, 3]], 4]\ntext = [\"xxxxxxxxxxxxxxxxxxxxxxxxxxxxxx\", \"yyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyy\"]\nshare = [[1, 2, 3]]\n", []string{
			`f.toml:1: list: found an empty list, want some words`,
			`f.toml:2: range: found [1, "2", true], want a list of two, the lower one first, e.g. ["-20 °C", "120 °C"]`,
			`f.toml:3: count: found [[1, [2, 3]], 4], want a whole number from 1 to 9`,
			`f.toml:4: text: found a list of 2, want a text in quotes, on one line`,
			`f.toml:5: share: found a list of 1, want a number from 0 to 1`}},
		{"short list", "list = [1]\n", []string{
			`f.toml:1: list: found [1], want some words`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.want, lines(read(c.text)))
			assert.Equal(t, c.want, lines(read("\xef\xbb\xbf"+c.text)), "with a byte order mark")
			assert.Equal(t, c.want, lines(read(strings.ReplaceAll(c.text, "\n", "\r\n"))), "with the line ends of Windows")
		})
	}
}

func TestFaultsAreErrorsOfTheOneType(t *testing.T) {
	err := read("[[part]]\nname = \"x\"\n[part.below]\nsize = 10\n")
	var fault *strict.Error
	require.ErrorAs(t, err, &fault)
	assert.Equal(t, strict.Error{File: "f.toml", Line: 4, Field: `part "x": below: size`,
		Found: "10", Want: "a whole number from 1 to 9"}, *fault)
}

func TestValuesComeInSI(t *testing.T) {
	root, faults := strict.ParseTOML("f.toml", []byte(`
pressure = "2 bar"
ratio = 0.25
percent = "5 %"
air = "1013 ± 3 mbar"
range = ["-20 °C", "120 °C"]
wait = "0.1 s"
day = 2026-03-02
`))
	require.NotNil(t, root)
	assert.Equal(t, 2e5, root.Required("pressure").Quantity(si.Pressure))
	assert.Equal(t, 0.25, root.Required("ratio").Quantity(si.Dimensionless))
	assert.InDelta(t, 0.05, root.Required("percent").Quantity(si.Dimensionless), 1e-15)
	value, u, ok := root.Required("air").Uncertain(si.Pressure)
	assert.True(t, ok)
	assert.InDeltaSlice(t, []float64{101300, 300}, []float64{value, u}, 1e-9)
	low, high := root.Required("range").Range(si.Temperature)
	assert.InDeltaSlice(t, []float64{253.15, 393.15}, []float64{low, high}, 1e-9)
	assert.Equal(t, int64(100e6), int64(root.Required("wait").Duration(0, 60e9)))
	assert.Equal(t, "2026-03-02T00:00:00Z", root.Required("day").Day().Format("2006-01-02T15:04:05Z07:00"))
	root.Close()
	assert.NoError(t, faults.Err())
}

func FuzzParseTOML(f *testing.F) {
	for _, s := range []string{"", "a = 1\na = 2", "[[part]]\nname = \"x\"\n[part.below]\nsize = 1", "[a.b]\n[[a]]\n[a.b.c]\nx.y = {z = [1, {q = 2}]}",
		"part = [{name = 'x'}]\n[[part]]", "\xef\xbb\xbfx = 1", "text = \"\xff\"", "range = [\n'1 °C',\n# c\n]"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, line := range lines(read(text)) {
			assert.True(t, strings.HasPrefix(line, "f.toml:") && strings.Contains(line, "found "), "%q is no whole message", line)
		}
	})
}
