package result

import (
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"

	"holdbench/daq/record"
)

//go:embed result.schema.json
var schema []byte

// Schema returns the JSON Schema (draft 2020-12) of result.json.
func Schema() []byte { return schema }

var numbered = regexp.MustCompile(`^result(?:-([0-9]+))?\.json$`)

// NextNumber returns the number of the next assessment in a recording's
// folder: 1 where there is none yet.
func NextNumber(dir string) (int, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return 0, err
	}
	last := 0
	for _, e := range entries {
		m := numbered.FindStringSubmatch(e.Name())
		if m == nil {
			continue
		}
		n := 1
		if m[1] != "" {
			if n, err = strconv.Atoi(m[1]); err != nil {
				continue // a number too large to be ours
			}
		}
		last = max(last, n)
	}
	return last + 1, nil
}

// FileName returns result.json for the first assessment, result-N.json for
// the others.
func FileName(number int) string {
	if number <= 1 {
		return "result.json"
	}
	return fmt.Sprintf("result-%d.json", number)
}

// Encode writes the result as indented JSON.
func Encode(w io.Writer, r *Result) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(r)
}

// Write puts the result into the recording's folder under its number and
// returns the path. An existing result is never replaced: fs.ErrExist.
func Write(dir string, r *Result) (string, error) {
	path := filepath.Join(dir, FileName(r.Assessment.Number))
	switch _, err := os.Lstat(path); {
	case err == nil:
		return "", fmt.Errorf("%s: %w", path, fs.ErrExist)
	case !errors.Is(err, fs.ErrNotExist):
		return "", err
	}
	return path, record.ReplaceFile(path, func(w io.Writer) error { return Encode(w, r) })
}
