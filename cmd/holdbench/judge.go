package main

import (
	"os"
	"strconv"
	"time"

	"holdbench/analysis"
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

// options are those of an assessment made now by this program.
func options(number int) result.Options {
	return result.Options{Program: program, At: time.Now(), Number: number}
}

// factsOf is what the pages of a run show and carry. resultFile is the
// result's name in the recording's folder.
func factsOf(resultFile string, r *result.Result, assessments []analysis.Assessment, run *result.Run, shown style) (report.Facts, error) {
	stem := record.FileStem(r.SerialNumber, run.Recording.Meta.Started, r.RunID)
	if r.Assessment.Number > 1 {
		stem += "-" + strconv.Itoa(r.Assessment.Number)
	}
	var names []string
	for _, name := range []string{"readings.csv", "events.csv", "datapackage.json", resultFile} {
		// What is missing is among the recording's findings already.
		if run.Recording.Hashes[name] != "" || name == resultFile {
			names = append(names, name)
		}
	}
	files, err := report.ReadFiles(os.DirFS(run.Recording.Dir), names...)
	if err != nil {
		return report.Facts{}, err
	}
	return report.Facts{
		Result: r, Assessments: assessments, Display: shown.Display, Paper: shown.paper,
		Phases: phases(run), Recorded: recorded(run), ReportFile: stem + ".pdf",
		ResultHash: files[len(files)-1].Hash, Channels: run.Bench.Channels, Files: files,
	}, nil
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
