package strict

import (
	"bytes"
	"errors"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// ParseTOML reads a TOML document and returns its outermost table. Keys are
// taken as written: "Name" is not "name". Where the document is no TOML the
// table is nil and the faults say why; otherwise faults is where the table's
// reader and the tables below it collect theirs.
func ParseTOML(file string, text []byte) (*Table, *Faults) {
	faults := &Faults{}
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf")) // some editors begin with a byte order mark
	var tree map[string]any
	err := toml.Unmarshal(text, &tree)
	places := index(file, text, faults)
	switch {
	case err == nil && faults.Len() == 0:
		return &Table{file: file, values: tree, place: places, faults: faults}, faults
	case faults.Len() == 0:
		faults.Add(syntaxFault(file, text, err))
	}
	return nil, faults
}

// syntaxFault says in which line the document stops being TOML, and why.
func syntaxFault(file string, text []byte, err error) *Error {
	fault := &Error{File: file, Found: "no TOML", Want: "TOML (" + strings.TrimPrefix(err.Error(), "toml: ") + ")"}
	var at *toml.DecodeError
	if !errors.As(err, &at) {
		return fault
	}
	fault.Line, _ = at.Position()
	if lines := strings.Split(string(text), "\n"); fault.Line >= 1 && fault.Line <= len(lines) {
		if line := strings.TrimSpace(lines[fault.Line-1]); line != "" {
			fault.Found = Quote(line)
		} else {
			fault.Found = "an empty line"
		}
	}
	return fault
}
