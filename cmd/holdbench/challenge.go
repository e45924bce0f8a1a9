package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"holdbench/analysis/challenge"
	"holdbench/analysis/si"
	"holdbench/daq/record"
	"holdbench/daq/strict"
	"holdbench/report"
	"holdbench/report/result"
)

type challengeReportFlags struct {
	styleFlags
	threshold, json, pdf, png string
}

func challengeCommand(code *int) *cobra.Command {
	var f challengeReportFlags
	cmd := &cobra.Command{
		Use:   "challenge FOLDER…",
		Short: "Collect a bench's runs with known leaks: bias, scatter, false alarms, detections",
		Long: `challenge collects the challenges (run --known-leak …) among recordings, a FOLDER
being one of them or holding many, and says for each bench, quantity and limit what
they come to: ` + challenge.Form + `,
with the bias left in, and with exact binomial bounds. It is no certificate.

The form judges by one threshold: half the limit, unless --threshold says otherwise.

Exit code: 0 when every challenge was passed, 10 when one failed, 11 when one could
not be told, 3 bad input.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("challenge: found nothing, want folders of recordings")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return f.report(cmd, args, code) },
	}
	f.styleFlags.add(cmd)
	flags := cmd.Flags()
	flags.StringVar(&f.threshold, "threshold", "", `threshold of the form, a rate or a flow as the limit is, e.g. "0.1 bar/min"`)
	flags.StringVar(&f.json, "json", "", "write the report as JSON to a file, or - for standard output")
	flags.StringVar(&f.pdf, "pdf", "", "draw the report as PDF to a file")
	flags.StringVar(&f.png, "png", "", "draw its first page as PNG to a file")
	return cmd
}

func (f *challengeReportFlags) report(cmd *cobra.Command, args []string, code *int) error {
	shown, err := f.parse()
	if err != nil {
		return err
	}
	results, note, err := challengesIn(args)
	if err != nil {
		return err
	}
	benches, err := f.benches(results)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	if f.json == "-" {
		out = cmd.ErrOrStderr()
	}
	for _, b := range benches {
		printChallenged(out, b, shown.Display)
		for _, r := range b.Runs {
			switch r.Outcome {
			case challenge.Failed.String():
				*code = gravest(*code, exitFail)
			case challenge.Unknown.String():
				*code = gravest(*code, exitInconclusive)
			}
		}
	}
	if err := unwritable("--json", f.json, writeChallenges(f.json, cmd.OutOrStdout(), benches)); err != nil {
		return err
	}
	document := report.ChallengesDocument(report.Challenges{
		Benches: benches, Display: shown.Display, Paper: shown.paper, Program: program, At: time.Now(), Note: note,
	})
	return drawDocument(cmd.ErrOrStderr(), document, f.pdf, f.png)
}

// drawDocument draws a document as PDF and its first page as PNG, where asked
// for.
func drawDocument(stderr io.Writer, d report.Document, pdf, png string) error {
	for _, page := range []struct {
		flag, path string
		draw       func(io.Writer) error
	}{
		{"--pdf", pdf, d.WritePDF},
		{"--png", png, func(w io.Writer) error { return report.WritePNG(w, d.Pages[0]) }},
	} {
		if page.path == "" || len(d.Pages) == 0 {
			continue
		}
		message, err := replacePage(page.path, page.draw)
		if message != "" {
			fmt.Fprintln(stderr, message)
		}
		if err != nil {
			return unwritable(page.flag, page.path, err)
		}
	}
	return nil
}

// challengesIn judges the challenges among recordings again, in the order of
// their times. note is what the recordings say of themselves, e.g. that they
// are invented.
func challengesIn(args []string) (results []*result.Result, note string, err error) {
	for _, arg := range args {
		folders, err := recordingsIn(arg)
		if err != nil {
			return nil, "", err
		}
		if len(folders) == 0 {
			return nil, "", &strict.Error{File: arg, Found: "no recording", Want: "the folder of a recording, or one that holds some"}
		}
		for _, folder := range folders {
			rec, err := record.Open(folder)
			if err != nil {
				return nil, "", err
			}
			if rec.Meta.Challenge == nil {
				continue
			}
			if slices.ContainsFunc(results, func(r *result.Result) bool { return r.RunID == rec.Meta.RunID }) {
				return nil, "", &strict.Error{File: folder, Field: "run", Found: rec.Meta.RunID + " a second time", Want: "each run once"}
			}
			r, _, _, err := result.Assess(rec, options(reassessment))
			if err != nil {
				return nil, "", err
			}
			note = cmp.Or(note, r.Note)
			results = append(results, r)
		}
	}
	if len(results) == 0 {
		return nil, "", &strict.Error{File: strings.Join(args, ", "), Found: "no challenge", Want: "a recording of run --known-leak …"}
	}
	slices.SortStableFunc(results, func(a, b *result.Result) int { return a.Started.Compare(b.Started) })
	return results, note, nil
}

// benches groups challenges by bench, quantity and limit.
func (f *challengeReportFlags) benches(results []*result.Result) ([]report.ChallengedBench, error) {
	var out []report.ChallengedBench
	for _, r := range results {
		c := r.Challenge
		limit := value(c.Limit)
		i := slices.IndexFunc(out, func(b report.ChallengedBench) bool {
			return b.Bench == r.Bench.Name && b.Quantity == c.Quantity && (b.Report.Limit == limit || math.IsNaN(b.Report.Limit) && math.IsNaN(limit))
		})
		if i < 0 {
			i = len(out)
			b := report.ChallengedBench{Bench: r.Bench.Name, Quantity: c.Quantity, Kind: rowOf(c.Quantity).Quantity}
			b.Report.Limit, b.Report.Threshold = limit, limit/2
			if f.threshold != "" {
				var err error
				if b.Report.Threshold, err = si.Parse(f.threshold, b.Kind); err != nil || !(b.Report.Threshold > 0) {
					return nil, &strict.Error{Field: "--threshold", Found: strict.Quote(f.threshold), Want: "a " + b.Kind.String() + " above zero, as the limit on " + c.Quantity + " is", Cause: err}
				}
			}
			out = append(out, b)
		}
		out[i].Runs = append(out[i].Runs, report.ChallengedRun{
			Code: c.Code, Serial: r.SerialNumber, At: r.Started, Expected: value(c.Expected.Value), Measured: value(c.Measured.Value),
			Difference: value(c.Difference.Value), U: value(c.Difference.U), Allowed: value(c.Allowed), Outcome: c.Outcome, Readings: c.Readings,
		})
	}
	for i := range out {
		b := &out[i]
		var trials []challenge.Trial
		for _, r := range b.Runs {
			trials = append(trials, challenge.Trial{Expected: r.Expected, Measured: r.Measured, Outcome: outcomeNamed(r.Outcome), Alarm: r.Readings == "FAIL", Cleared: r.Readings == "PASS"})
		}
		b.Report = challenge.ReportOf(trials, b.Report.Threshold, b.Report.Limit)
	}
	return out, nil
}

func outcomeNamed(text string) challenge.Outcome {
	for _, o := range []challenge.Outcome{challenge.Passed, challenge.Failed} {
		if o.String() == text {
			return o
		}
	}
	return challenge.Unknown
}

// value is a number as read from a result, where null is not known.
func value(x *float64) float64 {
	if x == nil {
		return math.NaN()
	}
	return *x
}

func printChallenged(out io.Writer, b report.ChallengedBench, d si.Display) {
	unit := d.Unit(b.Kind)
	fmt.Fprintf(out, "bench %s: %s, %s\n\n", b.Bench, cmp.Or(b.Quantity, "no quantity"), challenge.Form)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "DATE\tCODE\tUNIT\tEXPECTED\tMEASURED\tDIFFERENCE\tU [%s]\tBENCH\tBY THE LIMIT ALONE\n", unit.Symbol)
	show := func(x float64) string {
		if math.IsNaN(x) {
			return "–"
		}
		return strings.Replace(si.Format(x/unit.Factor, 4), "-", "−", 1)
	}
	for _, r := range b.Runs {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", r.At.Format("2006-01-02 15:04"), r.Code, r.Serial,
			show(r.Expected), show(r.Measured), show(r.Difference), show(r.U), r.Outcome, r.Readings)
	}
	fmt.Fprintln(w)
	// A screen that cannot be written has nobody to tell.
	_ = w.Flush()
	w = tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, row := range report.ChallengeRows(b, d) {
		fmt.Fprintf(w, "  %s\t%s\n", row[0], row[1])
	}
	_ = w.Flush()
	fmt.Fprintln(out)
}

// challengeJSON is one bench of the report as JSON: SI, null where not known.
type challengeJSON struct {
	Form      string              `json:"form"`
	Bench     string              `json:"bench"`
	Quantity  string              `json:"quantity"`
	Unit      string              `json:"unit"`
	Limit     *float64            `json:"limit"`
	Threshold *float64            `json:"threshold"`
	Runs      []challengeRunJSON  `json:"runs"`
	N         int                 `json:"n"`
	Figures   map[string]*float64 `json:"figures"`
	Reason    string              `json:"reason,omitempty"`
	Passed    proportionJSON      `json:"passed"`
	Alarms    proportionJSON      `json:"false_alarms"`
	Detected  proportionJSON      `json:"detections"`
	Missed    proportionJSON      `json:"missed"`
	Undecided proportionJSON      `json:"undecided"`
}

type challengeRunJSON struct {
	Code     string    `json:"code"`
	Serial   string    `json:"serial_number"`
	Started  time.Time `json:"started"`
	Expected *float64  `json:"expected"`
	Measured *float64  `json:"measured"`
	U        *float64  `json:"u"`
	Outcome  string    `json:"outcome"`
	Readings string    `json:"readings"`
}

// proportionJSON has one-sided 95 % bounds, null without a trial.
type proportionJSON struct {
	Events int      `json:"events"`
	Trials int      `json:"trials"`
	Low    *float64 `json:"low"`
	High   *float64 `json:"high"`
}

func writeChallenges(path string, stdout io.Writer, benches []report.ChallengedBench) error {
	if path == "" {
		return nil
	}
	var all []challengeJSON
	for _, b := range benches {
		all = append(all, challengeJSONOf(b))
	}
	write := func(w io.Writer) error {
		enc := json.NewEncoder(w)
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		return enc.Encode(all)
	}
	if path == "-" {
		return write(stdout)
	}
	return record.ReplaceFile(path, write)
}

func challengeJSONOf(b report.ChallengedBench) challengeJSON {
	known := func(x float64) *float64 {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil
		}
		return &x
	}
	proportion := func(p challenge.Proportion) proportionJSON {
		return proportionJSON{p.Events, p.Trials, known(p.Low), known(p.High)}
	}
	r := b.Report
	j := challengeJSON{
		Form: challenge.Form, Bench: b.Bench, Quantity: b.Quantity, Unit: b.Kind.SI().Symbol, Limit: known(r.Limit), Threshold: known(r.Threshold),
		Reason: r.EvaluationNo, Passed: proportion(r.Passed), Alarms: proportion(r.FalseAlarms), Detected: proportion(r.Detections),
		Missed: proportion(r.Missed), Undecided: proportion(r.Undecided), Figures: map[string]*float64{},
	}
	for _, run := range b.Runs {
		j.Runs = append(j.Runs, challengeRunJSON{run.Code, run.Serial, run.At, known(run.Expected), known(run.Measured), known(run.U), run.Outcome, run.Readings})
	}
	if e := r.Evaluation; e != nil {
		j.N = e.N
		for name, x := range map[string]float64{
			"bias": e.Bias, "sd": e.SD, "sd_upper_95": e.SDUpper, "t_bias": e.TBias, "t_critical": e.TCritical,
			"p_false_alarm": e.PFalseAlarm, "p_detection": e.PDetection, "threshold_5": e.Threshold5, "detectable_95": e.Detectable95,
		} {
			j.Figures[name] = known(x)
		}
	}
	return j
}
