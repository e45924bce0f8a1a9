package main

import (
	"bytes"
	"os"
	"path/filepath"

	"holdbench/daq/record/foreign"
	"holdbench/report"
	"holdbench/report/result"
)

// judgeFile judges another logger's file.
func (f *assessFlags) judgeFile(path string, s assessSettings) (judged, error) {
	file, err := foreign.Read(path, s.logger)
	if err != nil {
		return judged{}, err
	}
	if err := f.save(file.Settings, s.written); err != nil {
		return judged{}, err
	}
	a := result.AssessFile(file, result.FileOptions{
		Options: options(firstAssessment), Limits: s.limits, Known: s.known, Find: s.find,
		SerialNumber: f.serial, Model: f.model, Operator: f.operator, Fluid: f.fluid, TestPressure: s.testPressure,
	})
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
	return judged{result: a.Result, facts: facts}, nil
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
