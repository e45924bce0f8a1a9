package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
	"holdbench/daq/strict"
	"holdbench/report"
	"holdbench/report/result"
)

// planFlags are what plan may be told, as written.
type planFlags struct {
	styleFlags
	bench, procedure, position                                                    string
	circuit, swing, drift, noise, temperatureNoise, blank, hold, prior, out, json string
	riskPass, riskFail                                                            float64
	seed                                                                          uint64
}

func planCommand(*int) *cobra.Command {
	var f planFlags
	cmd := &cobra.Command{
		Use:   "plan --bench bench.toml --procedure procedure.toml",
		Short: "Say before a test what it can decide: smallest limit, hold time, shares of verdicts",
		Long: `plan reckons, before any test, with the bench's noise, what was characterised, the
temperature's swing and the transducer's drift: the smallest limit that the
procedure's hold decides reliably, line by line why, the hold time that each
limit needs or that no time will settle it, how often units of a known true loss
PASS, FAIL and are INCONCLUSIVE, and how early looks at the hold decide.

Shares are over tests and benches whose errors are spread as the budget states.
Reliably: a unit without loss passes, and one with twice what the limit allows
fails, but for the stated risks.

The temperature's swing is over the procedure's hold, whatever --hold says: a
shorter hold sees what the same mean rate makes in its time, a longer one no more
than the swing, unless said otherwise. It is that of --temperature-swing, or of
temperature_swing in the procedure, or else assumed. run warns of the limits that
it cannot decide reliably, or refuses (unresolvable = "refuse"); it refuses nothing
that rests on the assumed swing alone.

Drift is the larger of the bench file's and of what was characterised; noise is
larger by its characterised autocorrelation, as in a result.`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.plan(cmd) },
	}
	flags := cmd.Flags()
	f.add(cmd)
	flags.StringVar(&f.bench, "bench", "", "bench file (TOML)")
	flags.StringVar(&f.procedure, "procedure", "", "procedure file (TOML)")
	flags.StringVar(&f.position, "position", "", "position on the bench; needed where there are several")
	flags.StringVar(&f.circuit, "circuit", "", "one circuit of the procedure; all when not given")
	flags.StringVar(&f.swing, "temperature-swing", "", fmt.Sprintf("how much the liquid's temperature changes over the procedure's hold, e.g. \"0.2 K\" (the procedure's temperature_swing when not given, else assumed %g K)", result.ExpectedTemperatureChange))
	flags.StringVar(&f.drift, "drift", "", `drift of the pressure transducer, standard uncertainty, e.g. "0.001 bar/h" instead of the bench file's`)
	flags.StringVar(&f.noise, "noise", "", `standard deviation of one pressure reading, e.g. "0.01 bar" instead of what was characterised`)
	flags.StringVar(&f.temperatureNoise, "temperature-noise", "", `standard deviation of one temperature reading, e.g. "0.02 K"`)
	flags.StringVar(&f.blank, "blank", "", "take noise and its autocorrelation from this recording's hold, e.g. of a blank run")
	flags.StringVar(&f.hold, "hold", "", `length of the hold instead of the procedure's, e.g. "10 min"; then without looks`)
	flags.Float64Var(&f.riskPass, "risk-pass", 0.05, "largest chance of PASS for a unit exactly at the limit, instead of the procedure's")
	flags.Float64Var(&f.riskFail, "risk-fail", 0.05, "largest chance of FAIL likewise")
	flags.StringVar(&f.prior, "prior", "", `losses of the units that come: mean ± standard deviation, e.g. "0.05 ± 0.03 bar/min"; says how many verdicts will be wrong`)
	flags.Uint64Var(&f.seed, "seed", 1, "seed of the tests that are played with looks")
	flags.StringVar(&f.out, "out", "", "draw the plan's pages as plan.pdf, and each as plan-N.png and plan-N.svg, into this folder")
	flags.StringVar(&f.json, "json", "", "write the plan as JSON to a file, or - for standard output")
	return cmd
}

func (f *planFlags) plan(cmd *cobra.Command) error {
	shown, err := f.parse()
	if err != nil {
		return err
	}
	b, p, err := benchAndProcedure("plan", f.bench, f.procedure)
	if err != nil {
		return err
	}
	position, err := choosePosition(b, f.position)
	if err != nil {
		return err
	}
	if err := f.writable(); err != nil {
		return err
	}
	told, err := f.told(cmd)
	if err != nil {
		return err
	}
	circuits, err := f.circuits(p, position)
	if err != nil {
		return err
	}
	made := report.Plan{
		Procedure: p.Name, Revision: p.Revision, ProcedureHash: p.Hash, Bench: b.Name, BenchHash: b.Hash, Model: p.Model, Position: position.Name,
		Program: version, Made: time.Now().UTC(), Display: shown.Display, Paper: shown.paper,
	}
	if b.Simulated != nil {
		made.Note = simulatedNote
	}
	plan := plan{Plan: made, prior: told.prior}
	if told.hold == nil {
		plan.looks = result.PlannedLooks(p)
	}
	for _, c := range circuits {
		planned, from, err := told.circuit(b, p, c, plan.looks, shown.Display)
		if err != nil {
			return err
		}
		for _, l := range planned.Limits {
			planned.Prior = append(planned.Prior, plan.priorInWords(l))
		}
		plan.Circuits, plan.basis = append(plan.Circuits, planned), append(plan.basis, from)
	}
	if err := plan.checkPrior(); err != nil {
		return err
	}
	if f.json == "-" {
		return fault(plan.writeJSON(cmd.OutOrStdout()))
	}
	plan.print(cmd.OutOrStdout())
	if f.json != "" {
		if err := record.ReplaceFile(f.json, plan.writeJSON); err != nil {
			return unwritable("--json", f.json, err)
		}
	}
	return f.draw(cmd.OutOrStdout(), plan.Plan)
}

// simulatedNote stands on a plan for a bench that is simulated.
const simulatedNote = "Simulated bench, invented data"

// writable finds out before anything is reckoned whether the pages can be
// written.
func (f *planFlags) writable() error {
	if f.out == "" {
		return nil
	}
	if err := os.MkdirAll(f.out, 0o777); err != nil {
		return unwritable("--out", f.out, err)
	}
	trial, err := os.CreateTemp(f.out, ".plan-*")
	if err != nil {
		return unwritable("--out", f.out, err)
	}
	return errors.Join(trial.Close(), os.Remove(trial.Name()))
}

// circuits are those of the procedure at the position, or the one that was
// named.
func (f *planFlags) circuits(p *procedure.Procedure, position bench.Position) (out []bench.Circuit, err error) {
	for _, c := range position.Circuits {
		if slices.Contains(p.Circuits, c.Name) && (f.circuit == "" || f.circuit == c.Name) {
			out = append(out, c)
		}
	}
	switch {
	case len(out) > 0:
		return out, nil
	case f.circuit == "":
		return nil, &strict.Error{File: p.Path, Field: "circuits", Found: strings.Join(p.Circuits, ", "), Want: "circuits that position " + position.Name + " has"}
	}
	return nil, &strict.Error{Field: "--circuit", Found: strict.Quote(f.circuit), Want: "one of " + strings.Join(p.Circuits, ", ")}
}

// draw draws the pages.
func (f *planFlags) draw(w io.Writer, p report.Plan) error {
	if f.out == "" {
		return nil
	}
	document := report.PlanDocument(p)
	var faults []error
	keep := func(name string, draw func(io.Writer) error) {
		path := filepath.Join(f.out, name)
		if err := record.ReplaceFile(path, draw); err != nil {
			faults = append(faults, unwritable("--out", path, err))
			return
		}
		fmt.Fprintln(w, "written: "+path)
	}
	keep("plan.pdf", document.WritePDF)
	for i, page := range document.Pages {
		keep(fmt.Sprintf("plan-%d.png", i+1), func(w io.Writer) error { return report.WritePNG(w, page) })
		keep(fmt.Sprintf("plan-%d.svg", i+1), func(w io.Writer) error { return report.WriteSVG(w, page) })
	}
	return errors.Join(faults...)
}

// planTold is what the flags come to, SI; nil and 0 where nothing was said.
type planTold struct {
	swing, drift, noise, temperatureNoise, hold *float64
	riskPass, riskFail                          float64
	blank                                       []analysis.Assessment
	blankFolder                                 string
	prior                                       string
	seed                                        uint64
}

// told reads the flags; all faults come at once.
func (f *planFlags) told(cmd *cobra.Command) (out planTold, err error) {
	var faults []error
	out.prior, out.seed = f.prior, f.seed
	for _, o := range []struct {
		flag, text string
		into       **float64
		quantity   si.Quantity
		least      bool // 0 is no value
	}{
		{"--temperature-swing", f.swing, &out.swing, si.TemperatureDifference, false}, {"--drift", f.drift, &out.drift, si.PressureRate, false},
		{"--noise", f.noise, &out.noise, si.PressureChange, false}, {"--temperature-noise", f.temperatureNoise, &out.temperatureNoise, si.TemperatureDifference, false},
		{"--hold", f.hold, &out.hold, si.Time, true},
	} {
		if o.text == "" {
			continue
		}
		x, err := si.Parse(o.text, o.quantity)
		switch {
		case err != nil:
			faults = append(faults, named(o.flag, err))
		case x < 0 || o.least && x == 0:
			faults = append(faults, &strict.Error{Field: o.flag, Found: strict.Quote(o.text), Want: "a figure above 0"})
		}
		*o.into = &x
	}
	for _, o := range []struct {
		flag string
		text float64
		into *float64
	}{{"risk-pass", f.riskPass, &out.riskPass}, {"risk-fail", f.riskFail, &out.riskFail}} {
		if !cmd.Flags().Changed(o.flag) {
			continue
		}
		if *o.into = o.text; !(o.text > 0 && o.text <= 0.5) {
			faults = append(faults, &strict.Error{Field: "--" + o.flag, Found: fmt.Sprint(o.text), Want: "above 0, at most 0.5"})
		}
	}
	if f.blank != "" {
		out.blankFolder = f.blank
		if out.blank, err = assessBlank(f.blank); err != nil {
			faults = append(faults, err)
		}
	}
	return out, errors.Join(faults...)
}

// assessBlank judges the holds of a recording.
func assessBlank(folder string) (all []analysis.Assessment, err error) {
	if _, err := os.Stat(folder); err != nil {
		return nil, &strict.Error{Field: "--blank", Found: folder + ": no such folder", Want: "a recording's folder", Cause: err}
	}
	recording, err := record.Open(folder)
	if err != nil {
		return nil, named("--blank", err)
	}
	run, err := result.Read(recording)
	if err != nil {
		return nil, err
	}
	for _, h := range run.Holds() {
		all = append(all, analysis.Assess(h))
	}
	return all, nil
}

// circuit plans the limits of one circuit.
func (t planTold) circuit(b *bench.Bench, p *procedure.Procedure, c bench.Circuit, looks *analysis.Looks, d si.Display) (report.PlannedCircuit, result.Basis, error) {
	out := report.PlannedCircuit{Name: c.Name}
	prospect, from := result.Expected(b, p, c, time.Now())
	if t.blank != nil {
		seen, ok := measuredNoise(t.blank, c.Name)
		if !ok {
			return out, from, &strict.Error{Field: "--blank", Found: t.blankFolder + ": no hold of circuit " + c.Name + " that can be fitted", Want: "a recording with one"}
		}
		prospect.Noise, prospect.Inflation, prospect.TemperatureNoise = seen.Noise, seen.Inflation, seen.TemperatureNoise
		from.Noise = "of " + filepath.Base(t.blankFolder)
	}
	prospect, from = t.override(prospect, from)
	out.Prospect, out.Expected = prospect, expectations(prospect, from, d)
	for _, l := range p.Limits {
		if t.riskPass != 0 {
			l.RiskPass = t.riskPass
		}
		if t.riskFail != 0 {
			l.RiskFail = t.riskFail
		}
		if planned, ok := prospect.Plan(l, looks, t.seed); ok {
			out.Limits = append(out.Limits, planned)
		}
	}
	return out, from, nil
}

// override puts what was stated in place of what is expected.
func (t planTold) override(p analysis.Prospect, from result.Basis) (analysis.Prospect, result.Basis) {
	const stated = "stated"
	if t.swing != nil {
		p.TemperatureChange, p.Swing, from.Swing, from.SwingAssumed = *t.swing, *t.swing, stated, false
	}
	if t.drift != nil {
		p.Transducer.Drift, from.Drift = *t.drift, stated
	}
	if t.noise != nil {
		p.Noise, from.Noise = *t.noise, stated
	}
	if t.temperatureNoise != nil {
		p.TemperatureNoise = *t.temperatureNoise
	}
	if t.hold != nil {
		p = p.Lasting(*t.hold, true)
	}
	return p, from
}

// blankNoise is what a hold showed of its readings' scatter, SI.
type blankNoise struct{ Noise, Inflation, TemperatureNoise float64 }

func measuredNoise(all []analysis.Assessment, circuit string) (out blankNoise, ok bool) {
	for _, a := range all {
		if d := a.Diagnostics; a.Circuit == circuit && d.Noise >= 0 && d.Inflation >= 1 {
			return blankNoise{d.Noise, d.Inflation, max(d.TemperatureNoise, 0)}, true
		}
	}
	return out, false
}
