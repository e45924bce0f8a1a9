package result

import (
	"cmp"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/daq/record/foreign"
)

// StateFile is Recording.State of a result that was computed from another
// logger's file.
const StateFile = "file"

// FileOptions say by what another logger's file is judged: what a recording
// carries in itself, and a bare file does not.
type FileOptions struct {
	Options
	// Limits hold for every circuit; Known is what was characterised, the
	// same for every circuit.
	Limits []verdict.Limit
	Known  decay.Characterised
	// Find says where the hold is, or how to find it.
	Find analysis.FindOptions
	// SerialNumber, Model, Operator and Fluid are for the page; without a
	// serial number the file's name stands for it.
	SerialNumber, Model, Operator, Fluid string
	// TestPressure is the nominal pressure, Pa; 0: not stated.
	TestPressure float64
	// StartLow and StartHigh are the window for the start pressure, FeedBelow
	// the threshold under which the feed side counts as vented, Pa; 0: not
	// stated, and not checked.
	StartLow, StartHigh, FeedBelow float64
	// Transducer and Thermometer are what is known of the instruments; nil:
	// nothing.
	Transducer  *analysis.Transducer
	Thermometer *analysis.Thermometer
	// ZeroBefore and ZeroAfter are what the transducer read while vented,
	// before the record's start and after its end; nil where one is not known.
	ZeroBefore, ZeroAfter *uncertainty.Estimate
}

// FileAssessment is a file judged.
type FileAssessment struct {
	Result *Result
	// Assessments and Found by circuit, in the result's order.
	Assessments []analysis.Assessment
	Found       []analysis.Found
}

// trappedColumns are the columns of a file's series that are circuits.
var trappedColumns = []struct{ circuit, column string }{{"a", "trapped_a"}, {"b", "trapped_b"}}

// AssessFile judges another logger's file: the hold is found in the pressure
// itself, unless it is given, and judged by the same functions as a recording.
// It always answers: what cannot be said is INCONCLUSIVE with its reason.
func AssessFile(f *foreign.File, o FileOptions) FileAssessment {
	feed, _ := f.Series.Column("feed")
	var circuits []analysis.CircuitPressure
	for _, c := range trappedColumns {
		if trapped, ok := f.Series.Column(c.column); ok {
			circuits = append(circuits, analysis.CircuitPressure{Name: c.circuit, Trapped: trapped, Feed: feed})
		}
	}
	found, reasons := analysis.FindHolds(circuits, ownTime(f, o.Find))
	out := FileAssessment{Found: found}
	for i, c := range circuits {
		h := fileHold(f, c, found[i], reasons[i], o)
		h.Other = otherInFile(circuits, reasons, i, o)
		a := analysis.Assess(h)
		if reasons[i] != "" {
			a.Reasons = append([]string{reasons[i]}, a.Reasons...)
		}
		out.Assessments = append(out.Assessments, a)
	}
	out.Result = fileResult(f, out, o)
	return out
}

// otherInFile is another circuit of the file that has no hold of its own.
func otherInFile(circuits []analysis.CircuitPressure, reasons []string, held int, o FileOptions) *analysis.Other {
	none := math.NaN()
	for i, c := range circuits {
		if i != held && reasons[i] != "" {
			return &analysis.Other{Circuit: c.Name, Pressure: c.Trapped, VentedBelow: none,
				Transducer: analysis.Transducer{Low: none, High: none}, ThermalCoefficient: o.Known.ThermalCoefficient}
		}
	}
	return nil
}

// ownTime turns a stated window from what the file's own time column counts
// into seconds since its first row, where that column is a plain number.
// Stamps have no such count: there a window is since the first row already.
func ownTime(f *foreign.File, o analysis.FindOptions) analysis.FindOptions {
	if _, plain := f.Units["time"]; plain {
		o.From -= f.Origin
		o.To -= f.Origin
	}
	return o
}

// fileHold builds a circuit's hold. Start window and feed threshold are what a
// procedure states: where nobody says them they are not checked.
func fileHold(f *foreign.File, c analysis.CircuitPressure, found analysis.Found, reason string, o FileOptions) analysis.Hold {
	none := math.NaN()
	if reason != "" {
		found.Start, found.End, found.Locked = none, none, none
	}
	h := analysis.Hold{
		Circuit: c.Name, Start: found.Start, End: found.End, Locked: found.Locked, Completed: reason == "",
		Trapped: c.Trapped, TrappedInterval: pace(c.Trapped), Feed: c.Feed,
		StartLow: cmp.Or(o.StartLow, none), StartHigh: cmp.Or(o.StartHigh, none), FeedBelow: cmp.Or(o.FeedBelow, none),
		TestPressure: cmp.Or(o.TestPressure, none),
		Transducer:   analysis.Transducer{Low: none, High: none}, Thermometer: analysis.Thermometer{Low: none, High: none},
		Characterised: o.Known, Limits: o.Limits, Segments: found.Segments, Stepped: found.Stepped,
	}
	h.Temperature, _ = f.Series.Column("temperature")
	h.TemperatureInterval = pace(h.Temperature)
	h.Ambient, _ = f.Series.Column("ambient")
	if o.Transducer != nil {
		h.Transducer = *o.Transducer
	}
	if o.Thermometer != nil {
		h.Thermometer = *o.Thermometer
	}
	h.Transducer.Offset = math.Hypot(h.Transducer.Offset, f.AirU[c.Trapped.Name])
	if n := c.Trapped.Len(); n > 0 && o.ZeroBefore != nil && o.ZeroAfter != nil {
		h.Zeros = &decay.Zeros{
			Before: decay.Zero{At: c.Trapped.Time[0], Value: *o.ZeroBefore},
			After:  decay.Zero{At: c.Trapped.Time[n-1], Value: *o.ZeroAfter},
		}
	}
	return h
}

// pace is the median time between a column's readings, s; 0 for fewer than
// two.
func pace(c series.Column) float64 {
	if c.Len() < 2 {
		return 0
	}
	// The median of a part is enough, and does not cost a sort of millions.
	n := min(c.Len()-1, 1001)
	steps := make([]float64, n)
	stride := (c.Len() - 1) / n
	for i := range steps {
		steps[i] = c.Time[i*stride+1] - c.Time[i*stride]
	}
	slices.Sort(steps)
	return steps[n/2]
}

func fileResult(f *foreign.File, a FileAssessment, o FileOptions) *Result {
	base := filepath.Base(f.Name)
	r := &Result{
		Format: Format, Version: Version, Completed: true, Reasons: []string{}, Advice: []string{},
		SerialNumber: cmp.Or(o.SerialNumber, strings.TrimSuffix(base, filepath.Ext(base)), base),
		Model:        o.Model, RunID: "file-" + strings.TrimPrefix(f.Hash, "sha256:")[:16], Operator: o.Operator, Fluid: o.Fluid,
		Instruments: fileInstruments(f),
		Vented:      Vented{State: "treat as pressurised", Reason: "a file cannot show that the unit is vented"},
		Recording:   Recording{State: StateFile, Hashes: map[string]string{base: f.Hash}, Findings: []string{}},
		Assessment:  AssessmentInfo{Number: o.Number, At: o.At.UTC(), Program: o.Program},
		Notes:       f.Notes,
	}
	if !f.Start.IsZero() {
		r.Started = f.Start.UTC()
		r.Ended = f.Start.Add(time.Duration(lastTime(f.Series) * float64(time.Second))).UTC()
	}
	r.Verdict = r.addCircuits(a.Assessments).String()
	for i, c := range r.Circuits {
		if found := a.Found[i]; found.How != "" {
			c.Tests[0].Found = &Found{Method: found.Method, How: found.How, Notes: orNone(found.Notes)}
		}
	}
	return r
}

func lastTime(s series.Series) float64 {
	last := 0.0
	for _, c := range s.Columns {
		if n := c.Len(); n > 0 {
			last = max(last, c.Time[n-1])
		}
	}
	return last
}

// fileInstruments lists the file's columns as channels: nothing is known of
// what read them.
func fileInstruments(f *foreign.File) []Instrument {
	roles := map[string][2]string{
		"trapped_a": {"a", "trapped"}, "trapped_b": {"b", "trapped"}, "feed": {"", "feed"},
		"temperature": {"", "temperature"}, "ambient": {"", "ambient temperature"},
	}
	var out []Instrument
	for _, c := range f.Series.Columns {
		role := roles[c.Name]
		out = append(out, Instrument{Channel: fmt.Sprintf("%s: %s", c.Name, f.Headers[c.Name]), Instrument: "not stated", Circuit: role[0], Role: role[1]})
	}
	return out
}
