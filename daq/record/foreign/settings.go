package foreign

import (
	"strconv"
	"strings"

	"holdbench/analysis/si"
)

// Role is what a column of a logger's file is for.
type Role uint8

// The roles, in the order in which the series has its columns.
const (
	Time        Role = iota // seconds, a time of day, or a stamp of date and time
	Date                    // the date, where it has a column of its own
	TrappedA                // pressure on the trapped side, circuit a
	TrappedB                // the same of circuit b
	Feed                    // pressure on the feed side
	Temperature             // the liquid's temperature probe
	Ambient                 // temperature of the room

	// Roles is how many there are.
	Roles = 7
)

// roleRow describes a role. name is that of the series' column and of the key
// in a settings file; option is what a command line calls it.
type roleRow struct {
	name, words, option string
	quantity            si.Quantity
}

var roles = [Roles]roleRow{
	Time:        {"time", "time", "--time ", si.Time},
	Date:        {"date", "date", "--date ", si.Time},
	TrappedA:    {"trapped_a", "trapped pressure of circuit a", "--circuit a=", si.Pressure},
	TrappedB:    {"trapped_b", "trapped pressure of circuit b", "--circuit b=", si.Pressure},
	Feed:        {"feed", "feed pressure", "--feed ", si.Pressure},
	Temperature: {"temperature", "liquid temperature", "--temperature ", si.Temperature},
	Ambient:     {"ambient", "room temperature", "--ambient ", si.Temperature},
}

// String returns the role's name: that of the series' column, and of the key
// in a settings file.
func (r Role) String() string { return roles[r].name }

// option is how a command line gives the role its column, e.g.
// `--circuit "a=COLUMN [bar]"`.
func (r Role) optionFor(column, unit string) string {
	text := column
	if unit != "" {
		text += " [" + unit + "]"
	}
	option, prefix, _ := strings.Cut(roles[r].option, " ")
	text = prefix + text
	if strings.ContainsAny(text, " []") {
		text = `"` + text + `"`
	}
	return option + " " + text
}

// Column says which column has a role. The zero value: found by its header.
type Column struct {
	// Name as in the header, with or without its unit, in any case; None: no
	// column has the role.
	Name string
	// Number of the column from 1, used where Name is empty.
	Number int
	// Unit as people write it; empty: from the header. For pressures also
	// "bar(a)", "psia", "bar(g)", "psig".
	Unit string
}

// None is the Name of a column for a role that no column shall have.
const None = "none"

// IsZero reports whether nothing is said of the column.
func (c Column) IsZero() bool { return c == Column{} }

// ParseColumn reads a column as people write it: its name or number, and its
// unit in brackets if the header does not have it: "p1", "p1 [bar]",
// "3 [psi]", "[bar]" (the unit alone), "none".
func ParseColumn(text string) Column {
	var c Column
	text = strings.TrimSpace(text)
	if open := strings.LastIndexByte(text, '['); open >= 0 && strings.HasSuffix(text, "]") {
		c.Unit = strings.TrimSpace(text[open+1 : len(text)-1])
		text = strings.TrimSpace(text[:open])
	}
	if n, err := strconv.Atoi(text); err == nil && n > 0 {
		c.Number = n
		return c
	}
	c.Name = text
	if strings.EqualFold(text, None) {
		c.Name = None
	}
	return c
}

// String returns the column as ParseColumn reads it.
func (c Column) String() string {
	text := c.Name
	if text == "" && c.Number > 0 {
		text = strconv.Itoa(c.Number)
	}
	if c.Unit != "" {
		text = strings.TrimSpace(text + " [" + c.Unit + "]")
	}
	return text
}

// Settings says how one logger's files are read. Everything is optional: what
// is not said is found out from the file itself.
type Settings struct {
	// Columns by their role.
	Columns [Roles]Column
	// Delimiter is "comma", "semicolon" or "tab".
	Delimiter string
	// Decimal is the decimal mark: "point" or "comma".
	Decimal string
	// Encoding is "utf-8", "utf-16le", "utf-16be" or "windows-1252".
	Encoding string
	// HeaderLine is the line of the column names; NoHeader: there is none.
	HeaderLine int
	// TimeFormat is the order of a date's parts, "dmy", "mdy" or "ymd", where
	// the file leaves it open; or what a time of two numbers is, "hh:mm" or
	// "mm:ss".
	TimeFormat string
	// Zone is the time zone of stamps that name none: an IANA name
	// ("Europe/Berlin") or an offset ("+01:00"). Empty: UTC.
	Zone string
	// Absolute is true when pressures are absolute; AmbientPressure, in Pa, is
	// taken off them (0: the standard atmosphere), with its standard
	// uncertainty (0: as given, exactly; of the standard atmosphere 3000 Pa).
	Absolute                          bool
	AmbientPressure, AmbientPressureU float64
	// NoReading lists words of this logger's own that stand for "no reading".
	NoReading []string
}

// NoHeader is the HeaderLine of a file without column names.
const NoHeader = -1

// The words that settings are written in.
var (
	delimiterWords = []string{"comma", "semicolon", "tab"}
	decimalWords   = []string{"point", "comma"}
	encodingWords  = []string{"utf-8", "utf-16le", "utf-16be", "windows-1252"}
	formatWords    = []string{"dmy", "mdy", "ymd", "hh:mm", "mm:ss"}
)

// delimiters are the marks of delimiterWords.
var delimiters = map[string]byte{"comma": ',', "semicolon": ';', "tab": '\t'}
