package result

import (
	"fmt"
	"math"
	"strings"
	"time"

	"holdbench/analysis"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/daq"
	"holdbench/daq/record"
	"holdbench/daq/sequence"
)

// Options say who assesses, when, and as which assessment of the recording;
// they change nothing else.
type Options struct {
	Program string
	At      time.Time
	Number  int
	// Live: the run's own recording is assessed while it is still written, so
	// that its being open is nothing to be told.
	Live bool
	// Calibration is a file of [[calibration]] by which the raw numbers are
	// converted again; the zero value: as recorded.
	Calibration record.SourceFile
}

// Assess judges a recording: the one call that run, demo and re-assessment
// share. It returns the result, the assessments behind it (one a circuit, in
// the result's order) and the run as read. The errors are those of Read.
func Assess(rec *record.Recording, o Options) (*Result, []analysis.Assessment, *Run, error) {
	run, err := Read(rec)
	if err != nil {
		return nil, nil, nil, err
	}
	if o.Calibration.Name != "" {
		if err := run.recalibrate(o.Calibration); err != nil {
			return nil, nil, nil, err
		}
	}
	holds := run.Holds()
	if len(holds) == 0 {
		return nil, nil, nil, fmt.Errorf("%s: none of the procedure's circuits %v is wired at position %q", rec.Dir, run.Procedure.Circuits, run.Position.Name)
	}
	assessments := make([]analysis.Assessment, len(holds))
	for i, h := range holds {
		assessments[i] = analysis.Assess(h)
		if reason := aborted(rec.Events, run.Windows[h.Circuit]); reason != "" {
			assessments[i].Reasons = append([]string{reason}, assessments[i].Reasons...)
		}
		_, d := run.known(h.Circuit)
		d.tell(&assessments[i], h.Limits)
	}
	challenged := run.challenged(holds, assessments)
	r := build(run, assessments, o)
	r.takeChallenge(challenged)
	return r, assessments, run, nil
}

func build(run *Run, assessments []analysis.Assessment, o Options) *Result {
	rec := run.Recording
	meta := rec.Meta
	ended := meta.Started
	if end := rec.End(); !math.IsNaN(end) {
		ended = meta.Started.Add(time.Duration(math.Round(end * float64(time.Second))))
	}
	r := &Result{
		Format: Format, Version: Version, Completed: true, Reasons: []string{}, Advice: []string{},
		SerialNumber: meta.SerialNumber, Model: meta.Model, RunID: meta.RunID, Operator: meta.Operator,
		Position: meta.Position, Fluid: run.Procedure.Fluid, Note: meta.Note,
		Started: meta.Started.UTC(), Ended: ended.UTC(),
		Bench:            Source{Name: run.Bench.Name, Hash: meta.Bench.Hash},
		Procedure:        Source{Name: run.Procedure.Name, Hash: meta.Procedure.Hash},
		Characterisation: Source{Name: meta.Characterisation.Name, Hash: meta.Characterisation.Hash},
		Fluids:           Source{Name: meta.Fluids.Name, Hash: meta.Fluids.Hash},
		Instruments:      instruments(run),
		OverdueOverride:  overdueOverride(run),
		ZeroChecks:       zeroChecks(run),
		Calibration:      run.Calibration,
		Vented:           vented(rec.Events),
		Recording:        Recording{State: rec.State, Hashes: rec.Hashes, Findings: orNone(rec.Findings), Program: meta.Program, Timing: timing(rec.Events), Troubles: troubleTexts(run)},
		Assessment:       AssessmentInfo{Number: o.Number, At: o.At.UTC(), Program: o.Program},
	}
	overall := r.addCircuits(assessments)
	if !o.Live {
		r.Reasons = append(r.Reasons, r.zeroReasons(run)...)
	}
	r.Reasons = append(r.Reasons, beyondCalibration(run)...)
	r.Reasons = append(r.Reasons, holdTroubles(run)...)
	if r.Calibration != nil {
		r.Reasons = append(append(r.Reasons, r.Calibration.Text()), lapsed(run)...)
	}
	r.Reasons = append(r.Reasons, postdated(run, r.Instruments)...)
	if r.OverdueOverride != nil {
		r.Reasons = append([]string{r.OverdueOverride.Text()}, r.Reasons...)
	}
	if rec.State == record.StateOpen && !o.Live {
		r.Reasons = append([]string{"the recording is open: it is still running, or was cut short"}, r.Reasons...)
	}
	if grave := damage(rec.Findings); len(grave) > 0 {
		overall = verdict.Inconclusive
		r.Reasons = append(grave, r.Reasons...)
	}
	r.Verdict = overall.String()
	return r
}

// addCircuits adds the circuits with their reasons and returns the overall
// verdict.
func (r *Result) addCircuits(assessments []analysis.Assessment) verdict.Verdict {
	var verdicts []verdict.Verdict
	for _, a := range assessments {
		r.Circuits = append(r.Circuits, circuit(a))
		r.Completed = r.Completed && a.Completed
		verdicts = append(verdicts, a.Verdict)
		for _, text := range a.Reasons {
			r.Reasons = append(r.Reasons, named(a.Circuit, text, len(assessments)))
		}
		for _, text := range a.Advice {
			r.Advice = append(r.Advice, named(a.Circuit, text, len(assessments)))
		}
	}
	return verdict.Overall(verdicts...)
}

// aborted says in which phase and by what a test was aborted; empty where it
// was not.
func aborted(events []daq.Event, w sequence.Window) string {
	if !w.Aborted {
		return ""
	}
	phase := ""
	for _, e := range events {
		switch e.Kind {
		case daq.PhaseBegins:
			phase = e.Subject
		case daq.Abort:
			return fmt.Sprintf("the test was aborted in phase %s: %s", phase, w.Cause)
		}
	}
	return "the test was aborted: " + w.Cause
}

// damage returns the findings that forbid a verdict, as reasons: a recording
// that is not what was written proves nothing. A torn end is none of them: it
// costs its own row, and whether enough is left is the hold's own question.
func damage(findings []string) []string {
	var grave []string
	for _, f := range findings {
		if !strings.HasPrefix(f, "torn end") {
			grave = append(grave, "the recording is not as it was written: "+f)
		}
	}
	return grave
}

// named says which circuit a text speaks of where there are several.
func named(circuit, text string, circuits int) string {
	if circuits < 2 {
		return text
	}
	return "circuit " + circuit + ": " + text
}

func orNone(texts []string) []string {
	if texts == nil {
		return []string{}
	}
	return texts
}

func circuit(a analysis.Assessment) Circuit {
	t := Test{
		Kind: "hold", Window: [2]*float64{number(a.Start), number(a.End)}, Valid: a.Valid, Completed: a.Completed,
		Verdict: a.Verdict.String(), Reasons: orNone(a.Reasons), Advice: orNone(a.Advice),
		Estimates: map[string]Estimate{}, Limits: []Limit{}, Diagnostics: diagnostics(a), Early: early(a.Early),
	}
	for _, row := range verdict.Quantities {
		if a.Estimates[row.Name].Absent == analysis.ReasonNoOtherCircuit {
			continue // most units have one circuit
		}
		t.Estimates[row.Name] = estimate(a.Estimates[row.Name], row)
	}
	for _, d := range a.Decisions {
		t.Limits = append(t.Limits, limit(d))
	}
	return Circuit{Name: a.Circuit, Verdict: t.Verdict, Tests: []Test{t}}
}

// number is a JSON number, null for NaN and infinities.
func number(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func estimate(q analysis.Quantity, row verdict.QuantityRow) Estimate {
	unit := row.Quantity.SI().Symbol
	switch {
	case q.Absent != "":
		return Estimate{Unit: unit, Reason: q.Absent}
	case number(q.Value) == nil || number(q.StdUncertainty) == nil:
		return Estimate{Unit: unit, Reason: "not estimated"}
	}
	low, high := q.Interval(0.95)
	return Estimate{
		Value: number(q.Value), Unit: unit, U: number(q.StdUncertainty), DOF: number(q.DegreesOfFreedom),
		Low: number(low), High: number(high), Budget: budget(q.Budget), Widened: widened(q),
	}
}

// widened is the factor on an interval, 0 where it has none or no end.
func widened(q analysis.Quantity) float64 {
	if number(q.Widened) == nil || q.Widened <= 1 {
		return 0
	}
	return q.Widened
}

func budget(b uncertainty.Budget) []BudgetLine {
	var lines []BudgetLine
	for _, l := range b {
		lines = append(lines, BudgetLine{Source: l.Source, U: l.StdUncertainty, DOF: number(l.DegreesOfFreedom), Note: l.Note})
	}
	return lines
}

func limit(d verdict.Decision) Limit {
	row, _ := verdict.Lookup(d.Limit.Quantity)
	l := Limit{
		Quantity: d.Limit.Quantity, Bound: d.Limit.Bound.String(), Value: d.Limit.Value, Unit: row.Quantity.SI().Symbol,
		Rule: d.Limit.Rule.String(), RiskPass: d.Limit.RiskPass, RiskFail: d.Limit.RiskFail,
		Source: d.Limit.Source, Written: d.Limit.Written,
		DecidedBy: number(d.DecidedBy), Verdict: d.Verdict.String(), Reason: d.Reason,
	}
	if d.Limit.After > 0 {
		l.After = number(d.Limit.After)
	}
	if d.Limit.UMax > 0 {
		l.UMax = number(d.Limit.UMax)
	}
	return l
}

func diagnostics(a analysis.Assessment) Diagnostics {
	d := a.Diagnostics
	if d.Readings == 0 {
		return Diagnostics{}
	}
	return Diagnostics{
		Law: d.Law, LawReason: d.LawReason, AICcLine: number(d.AICcLine), AICcExponential: number(d.AICcExponential),
		Readings: d.Readings, ValidShare: number(d.ValidShare), Noise: number(d.Noise),
		Autocorrelation: number(d.Autocorrelation), Inflation: number(d.Inflation), EffectiveReadings: number(d.EffectiveReadings),
		CurvatureT: number(d.CurvatureT), CurvatureDOF: number(d.CurvatureDOF), StillSettling: d.StillSettling,
		BlockMeanRate: number(d.BlockMeanRate), BlockMeanRateU: number(d.BlockMeanRateU),
		TemperatureChange: number(d.TemperatureChange), TemperatureU: number(d.TemperatureChangeU), RawRate: number(d.RawRate),
		TimeTemperature: number(d.TimeTemperature), VIF: number(d.VIF),
		CoefficientLearned: d.LearnedCoefficient, CoefficientSource: d.CoefficientSource,
		Course: course(d),
	}
}

// vented says how the vent watch ended.
func vented(events []daq.Event) Vented {
	o := sequence.OutcomeOf(events)
	return Vented{State: o.Vented, Reason: o.Reason}
}
