package main

import (
	"io"
	"path/filepath"

	"holdbench/daq/record"
	"holdbench/report"
)

// writeLot draws the summary of several results to one file.
func writeLot(path string, all []judged, shown style) error {
	lot := report.Lot{Title: "Hold tests", Display: shown.Display, Paper: shown.paper, ReportFile: filepath.Base(path)}
	for _, j := range all {
		lot.Rows = append(lot.Rows, report.LotRowOf(j.facts))
		if j.result.Note != "" {
			lot.Note = j.result.Note
		}
	}
	return record.ReplaceFile(path, func(w io.Writer) error { return report.LotDocument(lot).WritePDF(w) })
}
