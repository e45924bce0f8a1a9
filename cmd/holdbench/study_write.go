package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"holdbench/analysis/study"
	"holdbench/daq/record"
	"holdbench/daq/strict"
)

// Markers of the README's table.
const (
	studyBegin = "<!-- study -->"
	studyEnd   = "<!-- /study -->"
)

// studied is a finished study.
type studied struct {
	flags  studyFlags
	cells  []study.Cell
	result study.Result
}

func (s studied) write(stdout io.Writer) error {
	object, err := s.json()
	if err != nil {
		return err
	}
	table := s.markdown(s.result.Compact("holdbench", s.early()))
	if s.flags.out != "" {
		if err := s.files(s.markdown(s.result.Markdown()), object); err != nil {
			return err
		}
	}
	if s.flags.readme != "" {
		if err := rewriteBetween(s.flags.readme, studyBegin, studyEnd, table); err != nil {
			return err
		}
	}
	shown := []byte(table)
	if s.flags.json {
		shown = object
	}
	if _, err := stdout.Write(shown); err != nil {
		return fmt.Errorf("write to stdout: %w", err)
	}
	return nil
}

// early is the name of the judge that decides early; "" where none did.
func (s studied) early() string {
	if s.flags.early > 0 {
		return "early"
	}
	return ""
}

func (s studied) aims() []study.Aim {
	return s.result.Aims(s.cells, "holdbench", s.early(), "least-squares-inflated", "least-squares-honest")
}

func (s studied) markdown(tables string) string {
	return fmt.Sprintf("%d benches, %d tests of each in each of %d cells, seed %d. Figures in per cent, rates of the limit,\n"+
		"each with its standard error by bench.\n\n", s.flags.benches, s.flags.tests, len(s.cells), s.flags.seed) +
		study.AimsMarkdown(s.aims()) + "\n" + tables
}

func (s studied) rows() []study.Row {
	return append(append(append([]study.Row(nil), s.result.Cells...), s.result.Scenes...), s.result.Overall...)
}

func (s studied) json() ([]byte, error) {
	var rows []map[string]any
	for _, r := range s.rows() {
		rows = append(rows, r.Object())
	}
	var aims []map[string]any
	for _, a := range s.aims() {
		aims = append(aims, map[string]any{"aim": a.Text, "found": a.Found, "outcome": a.Outcome()})
	}
	out, err := json.MarshalIndent(map[string]any{
		"benches": s.flags.benches, "tests": s.flags.tests, "seed": s.flags.seed, "aims": aims, "rows": rows,
	}, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("study as JSON: %w", err)
	}
	return append(out, '\n'), nil
}

func (s studied) files(table string, object []byte) error {
	if err := os.MkdirAll(s.flags.out, 0o755); err != nil {
		return fmt.Errorf("create folder %s: %w", s.flags.out, err)
	}
	var rows bytes.Buffer
	w := csv.NewWriter(&rows)
	all := [][]string{study.Columns()}
	for _, r := range s.rows() {
		all = append(all, r.Record())
	}
	if err := w.WriteAll(all); err != nil {
		return fmt.Errorf("study as CSV: %w", err)
	}
	for name, text := range map[string][]byte{"study.md": []byte(table), "study.csv": rows.Bytes(), "study.json": object} {
		if err := replace(filepath.Join(s.flags.out, name), text); err != nil {
			return err
		}
	}
	return nil
}

func replace(path string, text []byte) error {
	return record.ReplaceFile(path, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

// rewriteBetween puts a text between two markers of a file, each on a line of
// its own.
func rewriteBetween(path, begin, end, text string) error {
	before, after, err := aroundTable(path, begin, end)
	if err != nil {
		return err
	}
	return replace(path, bytes.Join([][]byte{before, []byte(begin + "\n" + text + end + "\n"), after}, nil))
}

// aroundTable reads what is before and after two markers of a file.
func aroundTable(path, begin, end string) (before, after []byte, err error) {
	old, err := os.ReadFile(path)
	if err != nil {
		return nil, nil, fmt.Errorf("read %s: %w", path, err)
	}
	before, rest, ok := bytes.Cut(old, []byte(begin+"\n"))
	_, after, closed := bytes.Cut(rest, []byte(end+"\n"))
	if !ok || !closed {
		return nil, nil, &strict.Error{File: path, Field: "table of the study", Found: "no place for it", Want: fmt.Sprintf("the lines %s and %s", begin, end)}
	}
	return before, after, nil
}
