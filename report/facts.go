// Package report turns results into pages: it composes each page once, as
// marks at measured places, and draws the same marks to PDF and PNG. It judges
// nothing: every figure on a page stands in the result.
//
// Lengths are points (1/72 inch) on upright paper with the origin at the lower
// left; figures are SI inside and in display units on the page, with ± as the
// expanded uncertainty (95 %).
package report

import (
	"holdbench/analysis"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/report/result"
)

// Facts is everything that a page shows.
type Facts struct {
	Result *result.Result
	// Assessments bring the curves, one for each hold, found by their
	// circuit; a circuit without one is shown without a figure.
	Assessments []analysis.Assessment
	// Display chooses the units, Paper the size of the pages: A4 unless said
	// otherwise.
	Display si.Display
	Paper   Paper
	// Phases of the test, in their order, for the shading.
	Phases []Phase
	// Recorded holds what was measured over the whole recording.
	Recorded []Recorded
	// Cautions are full sentences; DefaultCautions are printed where there
	// are none.
	Cautions []string
	// ReportFile is the name under which the page is kept, for its foot.
	ReportFile string
	// ResultHash is the "sha256:…" of result.json's bytes, which cannot stand
	// in the result itself; empty where there is no such file.
	ResultHash string
	// HoldFound says how the hold was found where no events tell it ("hold
	// found from the pressure: …", "taken whole", "given"); where it is empty, the tests themselves say so.
	HoldFound string
	// Channels are those of the bench file, for the instruments' page; the
	// rows of Result.Instruments are found among them by name.
	Channels []bench.Channel
	// Files are what the result was computed from, and the result: carried
	// inside the document as far as they are not too large.
	Files []File
}

// Phase is a phase of a test; Start and End in s since the start of the
// recording. Circuit is empty for a phase of the whole unit.
type Phase struct {
	Circuit    string
	Name       string
	Start, End float64
}

// Recorded is what was measured at one circuit over the whole recording, SI;
// a column that was not measured is empty.
type Recorded struct {
	Circuit                    string
	Trapped, Feed, Temperature series.Column
}

// DefaultCautions stand on every page that brings none of its own.
var DefaultCautions = []string{
	"Trapped pressure is a hazard until proven otherwise: treat every circuit as pressurised until it is measured and confirmed vented; a circuit without a transducer is never proven by this page.",
	"Escaping oil can pierce the skin: never search for a leak by hand.",
	"Follow the local code; only a competent, licensed person may put a brake back into service. This program is no safety device.",
}

// assessment returns the assessment of a circuit's hold.
func (f Facts) assessment(circuit string) (analysis.Assessment, bool) {
	for _, a := range f.Assessments {
		if a.Circuit == circuit {
			return a, true
		}
	}
	return analysis.Assessment{}, false
}

func (f Facts) recorded(circuit string) Recorded {
	for _, r := range f.Recorded {
		if r.Circuit == circuit {
			return r
		}
	}
	return Recorded{Circuit: circuit}
}
