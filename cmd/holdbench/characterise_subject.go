package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"holdbench/analysis"
	"holdbench/analysis/characterisation"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/record"
	"holdbench/daq/strict"
	"holdbench/report"
	"holdbench/report/result"
)

// characterised is what is characterised, and the runs that do it.
type characterised struct {
	bench          *bench.Bench
	model, circuit string
	fluid          string
	low, high      float64 // Pa; NaN where not given
	expiry         time.Time
	date           time.Time
	runs           []*result.Run
	records        []characterisation.Record
	steps          []characterisation.Step
	volume         float64
	note           string
	// warnings are what makes a run doubtful without being wrong.
	warnings []string
}

// characterised reads recordings and flags; what is wrong comes out at once.
func (f *characteriseFlags) characterised(folders []string) (*characterised, error) {
	s := &characterised{circuit: f.circuit, low: math.NaN(), high: math.NaN()}
	var faults []error
	note := func(err error) {
		if err != nil {
			faults = append(faults, err)
		}
	}
	given, err := loadBench(f.bench)
	note(err)
	if f.write != "" || f.pressureRange != "" {
		var err error
		s.low, s.high, err = parsePressureRange(f.pressureRange)
		note(err)
	}
	if f.write != "" || f.expiry != "" {
		var err error
		s.expiry, err = parseDay("--expiry", f.expiry)
		note(err)
	}
	from, to := math.NaN(), math.NaN()
	if f.window != "" {
		var err error
		from, to, err = parseRunWindow(f.window)
		note(err)
	}
	known, err := f.known()
	note(err)
	for _, text := range f.steps {
		v, u, err := si.ParseUncertain(text, si.Volume)
		if err != nil || v == 0 || math.IsInf(v+u, 0) {
			note(&strict.Error{Field: "--step", Found: strict.Quote(text), Want: `a volume with its standard uncertainty, e.g. "0.10 ± 0.002 mL"`})
		}
		s.steps = append(s.steps, step(v, u, math.NaN()))
	}
	if f.volume != "" {
		if s.volume, err = si.Parse(f.volume, si.Volume); err != nil || !(s.volume > 0) {
			note(&strict.Error{Field: "--volume", Found: strict.Quote(f.volume), Want: `a volume above zero, e.g. "50 mL"`})
		}
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	for _, folder := range folders {
		rec, err := openRecording(folder)
		if err != nil {
			note(err)
			continue
		}
		if err := s.unfit(rec); err != nil {
			note(err)
			continue
		}
		run, err := result.Read(rec)
		if err != nil {
			note(err)
			continue
		}
		note(s.take(run, f, given, from, to, known))
	}
	if len(faults) == 0 && !s.expiry.IsZero() && !s.expiry.After(s.date) {
		note(&strict.Error{Field: "--expiry", Found: f.expiry, Want: "a day after the runs', " + s.date.Format(time.DateOnly)})
	}
	return s, errors.Join(faults...)
}

// openRecording opens a recording's folder; a file is none.
func openRecording(folder string) (*record.Recording, error) {
	if info, err := os.Stat(folder); err == nil && !info.IsDir() {
		return nil, &strict.Error{File: folder, Found: "a file", Want: "the folder of a recording"}
	}
	return record.Open(folder)
}

// unfit refuses a recording that is none to characterise by, or a second time
// the same.
func (s *characterised) unfit(rec *record.Recording) error {
	switch {
	case slices.ContainsFunc(s.runs, func(r *result.Run) bool { return r.Recording.Meta.RunID == rec.Meta.RunID }):
		return &strict.Error{File: rec.Dir, Field: "run", Found: rec.Meta.RunID + " a second time", Want: "each run once"}
	case rec.Meta.Challenge != nil:
		return &strict.Error{File: rec.Dir, Found: "a known-leak challenge", Want: "a run without an imposed leak"}
	case rec.State != record.StateClosed:
		return &strict.Error{File: rec.Dir, Found: "a recording that is still open, or was cut short", Want: "one that has ended"}
	}
	return nil
}

// doubt refuses a run outside the stated pressures, and warns of a hold that
// may not be judged.
func (s *characterised) doubt(run *result.Run, h analysis.Hold, r characterisation.Record, windowed bool) error {
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range r.Pressure.Window(r.Start, r.End).Value {
		if !math.IsNaN(p) {
			low, high = min(low, p), max(high, p)
		}
	}
	if middle := (low + high) / 2; !math.IsNaN(s.low) && (middle < s.low || middle > s.high) {
		return &strict.Error{File: run.Recording.Dir, Field: "--pressure-range", Found: fmt.Sprintf("a run at %.4g bar to %.4g bar", low/1e5, high/1e5),
			Want: fmt.Sprintf("pressures in %.6g bar..%.6g bar", s.low/1e5, s.high/1e5)}
	}
	if windowed {
		return nil
	}
	if a := analysis.Assess(h); !a.Valid || !a.Completed {
		why := cmp.Or(strings.Join(a.Reasons, "; "), "it did not end as it should")
		s.warnings = append(s.warnings, s.name(run)+": its hold may not be judged, and its figures are to be doubted: "+why)
	}
	return nil
}

// name is a run in words: serial number and date, and what tells it from others
// of the same unit and minute.
func (s *characterised) name(run *result.Run) string {
	m := run.Recording.Meta
	return m.SerialNumber + " of " + m.Started.Format("2006-01-02 15:04:05")
}

// missing names what a block lacks; empty where it lacks nothing.
func (s *characterised) missing() string {
	var flags []string
	if math.IsNaN(s.low) {
		flags = append(flags, "--pressure-range (e.g. \"80 bar..120 bar\")")
	}
	if s.expiry.IsZero() {
		flags = append(flags, "--expiry (a day, e.g. 2027-03-14)")
	}
	return strings.Join(flags, " and ")
}

// known are the figures given by flags.
func (f *characteriseFlags) known() (k struct{ coefficient, lag *uncertainty.Estimate }, err error) {
	for _, one := range []struct {
		flag, text string
		q          si.Quantity
		into       **uncertainty.Estimate
	}{
		{"--thermal-coefficient", f.thermalCoefficient, si.ThermalCoefficient, &k.coefficient},
		{"--lag", f.lag, si.Time, &k.lag},
	} {
		if one.text == "" {
			continue
		}
		v, u, e := si.ParseUncertain(one.text, one.q)
		if e != nil {
			err = errors.Join(err, &strict.Error{Field: one.flag, Found: strict.Quote(one.text), Want: "a " + one.q.String() + " with its standard uncertainty", Cause: e})
			continue
		}
		*one.into = &uncertainty.Estimate{Value: v, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Quantity: one.q}
	}
	return k, err
}

// take adds one run.
func (s *characterised) take(run *result.Run, f *characteriseFlags, given *bench.Bench, from, to float64, known struct{ coefficient, lag *uncertainty.Estimate }) error {
	dir, b := run.Recording.Dir, run.Bench
	if given != nil {
		if given.Name != b.Name {
			return &strict.Error{File: dir, Field: "bench", Found: strict.Quote(b.Name), Want: strict.Quote(given.Name) + ", the bench of " + f.bench}
		}
		b.Characterisations = given.Characterisations
		b.CharacterisationPath, b.CharacterisationText = given.CharacterisationPath, given.CharacterisationText
	}
	model, fluid := cmp.Or(f.model, run.Procedure.Model), cmp.Or(f.fluid, run.Procedure.Fluid)
	if s.bench == nil {
		s.bench, s.model, s.fluid = b, model, fluid
	}
	for _, same := range []struct{ field, found, want string }{
		{"bench", b.Name, s.bench.Name}, {"model", model, s.model}, {"fluid", fluid, s.fluid},
	} {
		if same.found != same.want {
			return &strict.Error{File: dir, Field: same.field, Found: strict.Quote(same.found), Want: strict.Quote(same.want) + ", as in the first recording"}
		}
	}
	holds := run.Holds()
	if s.circuit == "" && len(run.Procedure.Circuits) == 1 {
		s.circuit = run.Procedure.Circuits[0]
	}
	i := slices.IndexFunc(holds, func(h analysis.Hold) bool { return h.Circuit == s.circuit })
	if i < 0 {
		return &strict.Error{File: dir, Field: "--circuit", Found: quotedOrNothing(s.circuit), Want: "one of " + strings.Join(run.Procedure.Circuits, ", ")}
	}
	h := holds[i]
	r := characterisation.Record{
		Source: s.name(run), Start: h.Start, End: h.End, Locked: h.Locked, Pressure: h.Trapped, Temperature: h.Temperature,
		Transducer: h.Transducer, Thermometer: h.Thermometer, Known: h.Characterised,
	}
	if f.window != "" {
		r.Start, r.End = from, to
		if math.IsNaN(from) {
			r.Start = 0
		}
		if math.IsNaN(to) {
			r.End = run.Recording.End()
		}
	}
	if known.coefficient != nil {
		r.Known.ThermalCoefficient = known.coefficient
	}
	if known.lag != nil {
		r.Known.Lag = known.lag
	}
	if err := s.doubt(run, h, r, f.window != ""); err != nil {
		return err
	}
	s.note = cmp.Or(s.note, run.Recording.Meta.Note)
	s.runs, s.records = append(s.runs, run), append(s.records, r)
	if day := run.Recording.Meta.Started.UTC().Truncate(24 * time.Hour); day.After(s.date) {
		s.date = day
	}
	return nil
}

func step(v, u, at float64) characterisation.Step {
	return characterisation.Step{At: at, Volume: uncertainty.Estimate{Value: v, StdUncertainty: u, DegreesOfFreedom: math.Inf(1), Quantity: si.Volume}}
}

// notedSteps are the steps that were typed as notes in a run: "step 0.10 ±
// 0.002 mL", or "step" alone where the volumes are given.
func notedSteps(events []daq.Event, volumes []characterisation.Step) ([]characterisation.Step, error) {
	var noted []characterisation.Step
	for _, e := range events {
		rest, ok := strings.CutPrefix(strings.ToLower(strings.TrimSpace(e.Text)), "step")
		if e.Kind != daq.Note || !ok {
			continue
		}
		_, text, _ := strings.Cut(strings.TrimSpace(e.Text), " ")
		if strings.TrimSpace(rest) == "" {
			noted = append(noted, step(0, 0, e.At.Seconds()))
			continue
		}
		v, u, err := si.ParseUncertain(text, si.Volume)
		if err != nil {
			return nil, &strict.Error{Field: "note at " + e.At.String(), Found: strict.Quote(e.Text), Want: `step and a volume, e.g. "step 0.10 ± 0.002 mL"`, Cause: err}
		}
		noted = append(noted, step(v, u, e.At.Seconds()))
	}
	switch {
	case len(noted) == 0:
		return volumes, nil
	case len(volumes) == 0:
		return noted, nil
	case len(volumes) != len(noted):
		return nil, &strict.Error{Field: "--step", Found: fmt.Sprintf("%d volumes", len(volumes)), Want: fmt.Sprintf("as many as there are notes of steps, %d", len(noted))}
	}
	for i := range noted {
		noted[i].Volume = volumes[i].Volume
	}
	return noted, nil
}

// block is the figures as a [[characterisation]] block.
func (s *characterised) block(kind characterisationKind, found findings) string {
	var b strings.Builder
	line := func(key, value string) { fmt.Fprintf(&b, "%s = %s\n", key, value) }
	b.WriteString("[[characterisation]]\n")
	line("bench", strconv.Quote(s.bench.Name))
	line("model", strconv.Quote(s.model))
	line("circuit", strconv.Quote(s.circuit))
	line("fluid", strconv.Quote(s.fluid))
	if !math.IsNaN(s.low) {
		bar := func(x float64) string {
			return strconv.Quote(strconv.FormatFloat(x/1e5, 'g', 8, 64) + " bar")
		}
		line("pressure_range", "["+bar(s.low)+", "+bar(s.high)+"]")
	}
	line("date", s.date.Format(time.DateOnly))
	if !s.expiry.IsZero() {
		line("expiry", s.expiry.Format(time.DateOnly))
	}
	line("source", strconv.Quote(s.source(kind, found)))
	for _, k := range found.keys {
		line(k.key, k.value)
	}
	return b.String()
}

// source names the runs.
func (s *characterised) source(kind characterisationKind, found findings) string {
	var ids []string
	for _, r := range s.runs {
		ids = append(ids, r.Recording.Meta.RunID)
	}
	few := ids
	if len(few) > 3 {
		few = append(slices.Clone(ids[:2]), "…", ids[len(ids)-1])
	}
	word := "runs"
	if found.used == 1 {
		word = "run"
	}
	var units []string
	for _, r := range s.runs {
		if sn := r.Recording.Meta.SerialNumber; !slices.Contains(units, sn) {
			units = append(units, sn)
		}
	}
	return fmt.Sprintf("characterise %s: %d %s (%s) with %s", kind.name, found.used, word, strings.Join(few, ", "), strings.Join(units, ", "))
}

// facts are what the page shows.
func (s *characterised) facts(kind characterisationKind, found findings, shown style) report.Characterisation {
	c := report.Characterisation{
		Kind: kind.title, Bench: s.bench.Name, Model: s.model, Circuit: s.circuit, Fluid: s.fluid, PressureLow: s.low, PressureHigh: s.high,
		Date: s.date, Expiry: s.expiry, Notes: found.notes, Refused: found.refused, Curves: found.curves,
		Display: shown.Display, Paper: shown.paper, Program: program, At: time.Now(), Note: s.note,
	}
	for _, r := range found.rows {
		c.Rows = append(c.Rows, [3]string{r.name, r.text(shown.Display), r.note})
	}
	for _, r := range s.runs {
		m := r.Recording.Meta
		c.Runs = append(c.Runs, [3]string{m.SerialNumber, m.Started.Format("2006-01-02 15:04:05"), m.RunID})
	}
	return c
}

const newCharacterisationFile = `# What was characterised on this bench: one block for each kind of run. "a ± b"
# is a value and its STANDARD uncertainty (k = 1); beside each, key_dof gives its
# degrees of freedom.
`

// addBlock adds a block at the end of a characterisation file and leaves what
// stands there word for word. The whole must read as one before it is written.
func addBlock(path, block string, b *bench.Bench) error {
	old, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		old = []byte(newCharacterisationFile)
	case err != nil:
		return unwritable("--write", path, err)
	}
	whole := bytes.Clone(old)
	if len(whole) > 0 && whole[len(whole)-1] != '\n' {
		whole = append(whole, '\n')
	}
	whole = append(append(whole, '\n'), block...)
	trial := *b
	if err := trial.AttachCharacterisation(path, whole); err != nil {
		return err
	}
	return unwritable("--write", path, record.ReplaceFile(path, func(w io.Writer) error {
		_, err := w.Write(whole)
		return err
	}))
}
