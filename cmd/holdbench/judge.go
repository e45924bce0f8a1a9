package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"time"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/record"
	"holdbench/report"
	"holdbench/report/result"
)

// A run's own assessment is number 1; later ones count from 2, so that
// assessing a recording that is still running never takes the run's place.
const (
	firstAssessment = 1
	reassessment    = 2
)

// infinite is degrees of freedom as read from a result, where null is +Inf.
func infinite(dof *float64) float64 {
	if dof == nil {
		return math.Inf(1)
	}
	return *dof
}

// judge assesses a recording's folder and writes result and pages into it.
// The number is the next free one, but at least atLeast.
func judge(folder string, display si.Display, atLeast int) (*result.Result, error) {
	rec, err := record.Open(folder)
	if err != nil {
		return nil, err
	}
	number, err := result.NextNumber(folder)
	if err != nil {
		return nil, err
	}
	r, assessments, run, err := result.Assess(rec, result.Options{
		Program: program, At: time.Now(), Number: max(number, atLeast),
	})
	if err != nil {
		return nil, err
	}
	if _, err := result.Write(folder, r); err != nil {
		return nil, err
	}
	return r, writePages(folder, r, assessments, run, display)
}

// writePages draws the unit's page as PDF and PNG beside the result.
func writePages(folder string, r *result.Result, assessments []analysis.Assessment, run *result.Run, display si.Display) error {
	stem := record.FileStem(r.SerialNumber, run.Recording.Meta.Started, r.RunID)
	if r.Assessment.Number > 1 {
		stem += fmt.Sprintf("-%d", r.Assessment.Number)
	}
	facts := report.Facts{
		Result: r, Assessments: assessments, Display: display, Phases: phases(run), Recorded: recorded(run), ReportFile: stem + ".pdf",
	}
	pages := report.Compose(facts)
	err := record.ReplaceFile(filepath.Join(folder, stem+".pdf"), func(w io.Writer) error {
		return report.WritePDF(w, pages, report.MetaOf(r))
	})
	if err != nil {
		return err
	}
	return record.ReplaceFile(filepath.Join(folder, stem+".png"), func(w io.Writer) error {
		return report.WritePNG(w, pages[0])
	})
}

// phases turns the recording's phase events into intervals, each ending where
// the next of its circuit begins.
func phases(run *result.Run) []report.Phase {
	var out []report.Phase
	open := map[string]int{}
	for _, e := range run.Recording.Events {
		if e.Kind != daq.PhaseBegins {
			continue
		}
		at := e.At.Seconds()
		if i, ok := open[e.Circuit]; ok {
			out[i].End = at
		}
		open[e.Circuit] = len(out)
		out = append(out, report.Phase{Circuit: e.Circuit, Name: e.Subject, Start: at, End: run.Recording.End()})
	}
	return out
}

func recorded(run *result.Run) []report.Recorded {
	var out []report.Recorded
	for _, c := range run.Position.Circuits {
		rec := report.Recorded{Circuit: c.Name}
		rec.Trapped, _ = run.Series.Column(c.Trapped)
		rec.Feed, _ = run.Series.Column(c.Feed)
		rec.Temperature, _ = run.Series.Column(c.Temperature)
		out = append(out, rec)
	}
	return out
}
