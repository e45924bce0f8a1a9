package foreign

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq/record"
	"holdbench/daq/strict"
)

// loggerTable is the table of a settings file that says how a logger's files
// are read.
const loggerTable = "logger"

// LoadSettings reads a settings file (TOML): its table [logger]. Further tables
// belong to others, each of whom is handed the outermost table to ask for its
// own; what nobody asks for is a fault. The error joins one *strict.Error for
// each fault.
func LoadSettings(path string, others ...func(root *strict.Table)) (Settings, error) {
	text, err := strict.ReadFile(path, "a settings file")
	if err != nil {
		return Settings{}, err
	}
	root, faults := strict.ParseTOML(path, text)
	if root == nil {
		return Settings{}, faults.Err()
	}
	var s Settings
	if t := root.Optional(loggerTable).Table(); t != nil {
		s = ParseSettings(t)
	}
	for _, other := range others {
		other(root)
	}
	root.Close()
	if err := faults.Err(); err != nil {
		return Settings{}, err
	}
	return s, nil
}

// ParseSettings reads the table [logger] of a settings file; faults go to the
// document's.
func ParseSettings(t *strict.Table) Settings {
	var s Settings
	word := func(key string, choices []string) string {
		k := t.Optional(key)
		if !k.Given() {
			return ""
		}
		return k.OneOf(choices...)
	}
	s.Delimiter = word("delimiter", delimiterWords)
	s.Decimal = word("decimal", decimalWords)
	s.Encoding = word("encoding", encodingWords)
	s.TimeFormat = word("time_format", formatWords)
	s.HeaderLine = parseHeaderLine(t.Optional("header_line"))
	s.Zone = parseZone(t.Optional("zone"))
	if k := t.Optional("pressure"); k.Given() {
		s.Absolute = k.OneOf("gauge", "absolute") == "absolute"
	}
	if k := t.Optional("ambient_pressure"); k.Given() {
		if strings.Contains(k.Written(), "±") || strings.Contains(k.Written(), "+-") {
			s.AmbientPressure, s.AmbientPressureU, _ = k.Uncertain(si.Pressure)
		} else {
			s.AmbientPressure = k.Positive(si.Pressure)
		}
	}
	for _, k := range t.Optional("no_reading").List(`words in quotes, e.g. ["Err"]`, 0) {
		s.NoReading = append(s.NoReading, k.Text())
	}
	if columns := t.Optional("columns").Table(); columns != nil {
		for r := range s.Columns {
			if k := columns.Optional(Role(r).String()); k.Given() {
				s.Columns[r] = parseColumnKey(k)
			}
		}
	}
	return s
}

// parseHeaderLine reads a line number, or "none".
func parseHeaderLine(k strict.Key) int {
	switch {
	case !k.Given():
		return 0
	case k.Written() == None:
		return NoHeader
	case k.Written() != "":
		k.Fault(k.Found(), `a line number, or "none"`)
		return 0
	}
	return k.Int(1, longestHeader)
}

// longestHeader is the last line on which a header is looked for.
const longestHeader = 1000

func parseZone(k strict.Key) string {
	if !k.Given() {
		return ""
	}
	zone := k.Text()
	if _, err := zoneNamed("", zone); err != nil && zone != "" {
		k.Fault(k.Found(), `an offset or a name that this machine knows, e.g. "+01:00" or "Europe/Berlin"`)
	}
	return zone
}

// parseColumnKey reads a column by its name or number.
func parseColumnKey(k strict.Key) Column {
	if k.Written() == "" && !strings.HasPrefix(k.Found(), `"`) {
		return Column{Number: k.Int(1, 10000)}
	}
	c := ParseColumn(k.Text())
	if c.Unit != "" {
		if _, _, ok := parseUnit(c.Unit); !ok {
			k.Fault(k.Found(), `a name or number and a unit of time, pressure or temperature, e.g. "p1 [bar]"`)
		}
	}
	return c
}

// SaveSettings writes a settings file that LoadSettings reads back. others
// write further tables after [logger]. An existing file is replaced whole. The
// errors are those of writing.
func SaveSettings(path string, s Settings, others ...func(io.Writer) error) error {
	return record.ReplaceFile(path, func(w io.Writer) error {
		if _, err := io.WriteString(w, s.toml()); err != nil {
			return err
		}
		for _, other := range others {
			if err := other(w); err != nil {
				return err
			}
		}
		return nil
	})
}

// toml writes the settings that say something.
func (s Settings) toml() string {
	var b strings.Builder
	b.WriteString("# How the files of one logger are read. What is not said is found out from the\n# file itself.\n\n[" + loggerTable + "]\n")
	line := func(key, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%s = %s\n", key, quoted(value))
		}
	}
	line("delimiter", s.Delimiter)
	line("decimal", s.Decimal)
	line("encoding", s.Encoding)
	switch {
	case s.HeaderLine == NoHeader:
		line("header_line", None)
	case s.HeaderLine > 0:
		fmt.Fprintf(&b, "header_line = %d\n", s.HeaderLine)
	}
	line("time_format", s.TimeFormat)
	line("zone", s.Zone)
	if s.Absolute {
		line("pressure", "absolute")
	}
	if s.AmbientPressure > 0 {
		text := strconv.FormatFloat(s.AmbientPressure, 'g', -1, 64)
		if s.AmbientPressureU > 0 {
			text += " ± " + strconv.FormatFloat(s.AmbientPressureU, 'g', -1, 64)
		}
		line("ambient_pressure", text+" Pa")
	}
	if len(s.NoReading) > 0 {
		words := make([]string, len(s.NoReading))
		for i, word := range s.NoReading {
			words[i] = quoted(word)
		}
		b.WriteString("no_reading = [" + strings.Join(words, ", ") + "]\n")
	}
	if slices.ContainsFunc(s.Columns[:], func(c Column) bool { return !c.IsZero() }) {
		b.WriteString("\n# Name or number of each column, and its unit in brackets where the header has none.\n[" + loggerTable + ".columns]\n")
		for r, c := range s.Columns {
			line(Role(r).String(), c.String())
		}
	}
	return b.String()
}

// quoted is a TOML basic string.
func quoted(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, c := range text {
		switch {
		case c == '"' || c == '\\':
			b.WriteByte('\\')
			b.WriteRune(c)
		case c < ' ' || c == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, c)
		default:
			b.WriteRune(c)
		}
	}
	b.WriteByte('"')
	return b.String()
}
