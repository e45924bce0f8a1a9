package strict

import (
	"bytes"
	"strings"
)

// syntaxFault says in which line (0: unknown) the document stops being TOML,
// and what would be right there.
func syntaxFault(file string, text []byte, line int, why string) *Error {
	found := "no TOML"
	if lines := bytes.Split(text, []byte("\n")); line >= 1 && line <= len(lines) {
		found = "an empty line"
		if written := bytes.TrimSpace(lines[line-1]); len(written) > 0 {
			found = Quote(string(written))
		}
	}
	return &Error{File: file, Line: line, Found: found, Want: syntaxWanted(why)}
}

// syntaxWanted says in our own words what would be right, for the slips that
// people make; for the rest it passes on what the reader of TOML says.
func syntaxWanted(why string) string {
	for _, row := range syntaxWords {
		if strings.Contains(why, row.why) {
			return row.want
		}
	}
	return "TOML (" + why + ")"
}

// syntaxWords is the table of what the reader of TOML says and what a person
// needs to know; the first row that fits counts.
var syntaxWords = []struct{ why, want string }{
	{"UTF-8", "a file saved as UTF-8"},
	{"after key", "key = value"},
	{"start of key", "a key of letters, digits, _ and -, then = and a value"},
	{"start of value", `a value after "=": a number, true or false, a date, or a text in quotes`},
	{"expected value", "a value here"},
	{"must be quoted", "texts in quotes"},
	{"impossible date", "a day of the calendar"},
	{"expected newline", "one key = value a line, each text in one pair of quotes"},
	{"cannot have new lines", "the closing quote on the same line"},
	{"unterminated", "the closing quote on the same line"},
	{"escape", `\\ for a backslash in a text, or single quotes around it: 'C:\bench\file.toml'`},
	{"array is incomplete", `a list that is closed with "]"`},
	{"after array value", `a comma between the values of a list, and "]" after the last`},
	{"close table name", `"]" after the table's name`},
	{"close array table name", `"]]" after the table's name`},
	{"leading zeroes", "a number without leading zeros"},
}
