package main

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"

	"holdbench/analysis"
	"holdbench/daq/record/foreign"
	"holdbench/daq/strict"
	"holdbench/report"
	"holdbench/report/result"
)

// judgeFile judges another logger's file.
func (f *assessFlags) judgeFile(path string, s assessSettings) (judged, error) {
	file, err := foreign.Read(path, s.logger)
	if err != nil {
		return judged{}, err
	}
	if err := withinFile(file, s.find); err != nil {
		return judged{}, err
	}
	if _, ok := file.Series.Column("feed"); !ok && s.bench.feedBelow > 0 {
		return judged{}, &strict.Error{File: file.Name, Field: "--feed-below", Found: "no feed column", Want: "--feed COLUMN, or no --feed-below"}
	}
	if err := f.save(file.Settings, s.written); err != nil {
		return judged{}, err
	}
	o := result.FileOptions{
		Options: options(firstAssessment), Limits: s.limits, Known: s.known, Find: s.find,
		SerialNumber: f.serial, Model: f.model, Operator: f.operator, Fluid: f.fluid, TestPressure: s.testPressure,
	}
	s.bench.tell(&o)
	a := result.AssessFile(file, o)
	facts, err := fileFacts(path, a, s.shown)
	if err != nil {
		return judged{}, fault(err)
	}
	for i, c := range a.Result.Circuits {
		rec := report.Recorded{Circuit: c.Name}
		rec.Trapped, _ = file.Series.Column("trapped_" + c.Name)
		rec.Feed, _ = file.Series.Column("feed")
		rec.Temperature, _ = file.Series.Column("temperature")
		facts.Recorded = append(facts.Recorded, rec)
		if found := a.Found[i]; found.How != "" {
			facts.Phases = append(facts.Phases, report.Phase{Circuit: c.Name, Name: "hold", Start: found.Start, End: found.End})
		}
	}
	return judged{result: a.Result, facts: facts, about: aboutFile(file, a)}, nil
}

// aboutFile says which columns were taken for what, where the hold is, and
// what was found and assumed.
func aboutFile(file *foreign.File, a result.FileAssessment) []string {
	var columns []string
	for _, c := range file.Series.Columns {
		columns = append(columns, c.Name+" from "+strict.Quote(file.Headers[c.Name]))
	}
	about := []string{"columns: " + strings.Join(columns, ", ")}
	for i, found := range a.Found {
		if found.How != "" && (i == 0 || found.How != a.Found[i-1].How) {
			about = append(about, found.How)
		}
		for _, note := range found.Notes {
			about = append(about, "note: "+note)
		}
	}
	for _, note := range file.Notes {
		about = append(about, "note: "+note)
	}
	return about
}

// withinFile refuses a stated window that the file does not cover.
func withinFile(file *foreign.File, o analysis.FindOptions) error {
	if !o.Given {
		return nil
	}
	first, last := math.Inf(1), math.Inf(-1)
	for _, c := range file.Series.Columns {
		if n := c.Len(); n > 0 {
			first, last = min(first, c.Time[0]), max(last, c.Time[n-1])
		}
	}
	if _, plain := file.Units["time"]; plain {
		first, last = first+file.Origin, last+file.Origin
	}
	slack := 2 * file.Interval
	if o.From < first-slack || o.To > last+slack {
		return &strict.Error{File: file.Name, Field: "--hold", Found: fmt.Sprintf("%g s to %g s", o.From, o.To),
			Want: fmt.Sprintf("a window within the file's %g s to %g s", first, last)}
	}
	return nil
}

// fileFacts are the facts with the files that the pages carry: what was
// judged, and the result.
func fileFacts(path string, a result.FileAssessment, shown style) (report.Facts, error) {
	files, err := report.ReadFiles(os.DirFS(filepath.Dir(path)), filepath.Base(path))
	if err != nil {
		return report.Facts{}, err
	}
	var text bytes.Buffer
	if err := result.Encode(&text, a.Result); err != nil {
		return report.Facts{}, err
	}
	own := report.NewFile("result.json", text.Bytes())
	return report.Facts{
		Result: a.Result, Assessments: a.Assessments, Display: shown.Display, Paper: shown.paper,
		ResultHash: own.Hash, Files: append(files, own),
	}, nil
}
