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
		line := 0
		if at := (*toml.DecodeError)(nil); errors.As(err, &at) {
			line, _ = at.Position()
		}
		faults.Add(syntaxFault(file, text, line, strings.TrimPrefix(err.Error(), "toml: ")))
	}
	return nil, faults
}
