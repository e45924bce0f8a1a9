package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/comparison"
	"holdbench/daq/record"
	"holdbench/daq/strict"
	"holdbench/report"
)

// compared is a recorded comparison with the bench that it was made on.
type compared struct {
	rec     *record.Recording
	bench   *bench.Bench
	channel bench.Channel
	said    said
}

// openComparison reads a recorded comparison.
func openComparison(folder string) (compared, error) {
	rec, err := record.Open(folder)
	if err != nil {
		return compared{}, err
	}
	c := compared{rec: rec}
	about := rec.Meta.Comparison
	if about == nil {
		return c, &strict.Error{File: folder, Field: "--from", Found: "the recording of a unit's test", Want: "the folder that calibrate left"}
	}
	if c.bench, err = bench.Parse(rec.Meta.Bench.Name, []byte(rec.Meta.Bench.Text)); err != nil {
		return c, fmt.Errorf("%s: the bench file in the recording: %w", folder, err)
	}
	var ok bool
	if c.channel, _, ok = c.bench.Channel(about.Channel); !ok {
		return c, &strict.Error{File: folder, Field: "channel", Found: strict.Quote(about.Channel), Want: "a channel of its bench file"}
	}
	for _, e := range rec.Events {
		if e.Kind == daq.Abort {
			return c, &strict.Error{File: folder, Found: "a comparison that was given up: " + e.Text, Want: "one that was brought to its end"}
		}
	}
	return c, nil
}

// readings are the stops that were taken, from the recorded readings: what a
// channel indicates is its value with the recorded calibration taken off.
func (c compared) readings() ([]comparison.Reading, error) {
	about := c.rec.Meta.Comparison
	own, _ := c.rec.Series().Column(about.Channel)
	reference, _ := c.rec.Series().Column(about.ReferenceChannel)
	air, _ := c.rec.Series().Column(c.bench.Ambient.Channel)
	var out []comparison.Reading
	for _, e := range c.rec.Events {
		if e.Kind != daq.Compared || e.Subject != about.Channel {
			continue
		}
		stop, shown, u, err := comparison.ParseWords(e.Text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", c.rec.Dir, err)
		}
		r := comparison.Reading{Stop: stop, From: e.At.Seconds(), To: e.Until.Seconds(), Reference: shown, ReferenceU: u}
		r.AsFound, r.Noise, r.N = averageOver(own, r.From, r.To)
		if about.ReferenceChannel != "" {
			r.Reference, _, _ = averageOver(reference, r.From, r.To)
		}
		if c.absolute() {
			ambient := c.bench.Ambient.Pressure.Value
			if p, _, n := averageOver(air, r.From, r.To); n > 0 {
				ambient = p
			}
			r.Reference, r.AsFound = r.Reference+ambient, r.AsFound+ambient
		}
		r.Indicated = c.channel.Calibration.Indicated(r.AsFound)
		out = append(out, r)
	}
	return out, nil
}

// absolute says that the channel's calibration is about absolute pressures,
// while its values are gauge.
func (c compared) absolute() bool {
	return c.channel.Absolute && c.channel.Name != c.bench.Ambient.Channel
}

// averageOver is mean, standard deviation and number of a column's valid
// readings after from, up to to.
func averageOver(col series.Column, from, to float64) (mean, sd float64, n int) {
	col = col.Valid().Window(math.Nextafter(from, math.Inf(1)), to)
	n = col.Len()
	for _, v := range col.Value {
		mean += v / float64(n)
	}
	for _, v := range col.Value {
		sd += (v - mean) * (v - mean) / float64(n-1)
	}
	if n == 0 {
		return math.NaN(), math.NaN(), 0
	}
	return mean, math.Sqrt(sd), n
}

// evaluateComparison evaluates what was recorded and leaves block and page.
func evaluateComparison(cmd *cobra.Command, folder string, s said, shown style) error {
	c, err := openComparison(folder)
	if err != nil {
		return err
	}
	if c.said, err = s.orRecorded(*c.rec.Meta.Comparison, c.rec.Meta.Operator); err != nil {
		return err
	}
	started := c.rec.Meta.Started
	if !c.said.due.After(started) {
		return &strict.Error{Field: "--due", Found: c.said.due.Format(time.DateOnly), Want: "a day after the comparison's own, " + started.Format(time.DateOnly)}
	}
	readings, err := c.readings()
	if err != nil {
		return err
	}
	unit, change := shown.Display.Unit(c.channel.Quantity), shown.Display.Unit(c.channel.Quantity.Difference())
	f, err := comparison.Evaluate(readings, comparison.Options{Fit: c.said.fit, Unit: unit, Change: change, Resolution: c.channel.Resolution})
	if err != nil {
		return fmt.Errorf("%s: %w", folder, err)
	}
	block := f.Block(c.certificate())
	if _, err := c.bench.Recalibrate("calibration.toml", []byte(block)); err != nil {
		return fault(fmt.Errorf("the block that was made cannot be read: %w", err))
	}
	toml := freePath(func(suffix string) string { return filepath.Join(folder, "calibration"+suffix+".toml") })
	err = record.ReplaceFile(toml, func(w io.Writer) error { _, err := io.WriteString(w, block); return err })
	if err != nil {
		return fault(err)
	}
	stem := record.FileStem(c.rec.Meta.SerialNumber, started, c.rec.Meta.RunID)
	pdf := freePath(func(suffix string) string { return filepath.Join(folder, stem+suffix+".pdf") })
	out := cmd.OutOrStdout()
	printComparison(out, c, f)
	fmt.Fprintf(out, "\n%s\nblock: %s\npage: %s\nrecording: %s\n", block, toml, pdf, folder)
	return drawDocument(cmd.ErrOrStderr(), report.CalibrationDocument(c.facts(f, readings, shown)), pdf, pdf[:len(pdf)-len(".pdf")]+".png")
}

// certificate is what the block says beside the figures.
func (c compared) certificate() comparison.Certificate {
	m := c.rec.Meta
	return comparison.Certificate{
		Channel: c.channel.Name, Number: c.said.number, Date: m.Started, Due: c.said.due,
		Reference: m.Comparison.Reference, By: c.said.by, Temperature: c.temperature(),
		Made: "Made by " + program + " calibrate from recording " + m.RunID + ".",
	}
}

// temperature is the room's mean over the comparison, K; NaN where it is not
// measured.
func (c compared) temperature() float64 {
	col, ok := c.rec.Series().Column(c.bench.Ambient.Temperature)
	if !ok || c.bench.Ambient.Temperature == "" {
		return math.NaN()
	}
	mean, _, _ := averageOver(col, -1, math.Inf(1))
	return mean
}

// cautions are what a reader of the page must know.
func (c compared) cautions(f comparison.Figures) []string {
	texts := []string{"This is an " + comparison.NotAccredited + ". It is as good as its reference, and as the hands that made it."}
	if math.IsNaN(f.Repeatability) {
		texts = append(texts, "One cycle: repeatability is not known and not in the uncertainty.")
	}
	texts = append(texts, "As left is computed from the same readings: the correction is applied in the program, nothing on the transducer was adjusted.")
	for _, e := range c.rec.Events {
		if e.Kind == daq.Note && e.Subject == "operator" {
			texts = append(texts, "Note: "+e.Text)
		}
	}
	for _, finding := range c.rec.Findings {
		texts = append(texts, "The recording: "+finding)
	}
	return texts
}

func (c compared) facts(f comparison.Figures, readings []comparison.Reading, shown style) report.Calibration {
	m := c.rec.Meta
	page := report.Calibration{
		Channel: c.channel.Name, Instrument: c.channel.Instrument, Bench: c.bench.Name,
		Reference: m.Comparison.Reference, Certificate: c.said.number, By: c.said.by, Date: m.Started, Due: c.said.due,
		Quantity: c.channel.Quantity, Temperature: c.temperature(), Fit: string(f.Fit),
		Hysteresis: f.Hysteresis, Repeatability: f.Repeatability, Residual: f.Residual, Linearity: f.Linearity,
		AsFound: f.AsFound, AsLeft: f.AsLeft, Budget: f.Budget, U: f.U, DOF: f.DOF, Stated: f.Stated,
		RunID: m.RunID, Cautions: c.cautions(f), Display: shown.Display, Paper: shown.paper, Program: program, Note: m.Note, At: time.Now(),
	}
	if c.channel.Calibration != nil {
		page.Before = c.channel.Calibration.Certificate
	}
	var coefficients []float64
	if f.Curve != nil {
		coefficients = f.Curve.Coefficients
	}
	page.Correction = report.CalibrationCorrection(len(f.Table), coefficients, f.Unit.Symbol)
	for _, p := range f.Points {
		page.Points = append(page.Points, report.CalibrationRow{Reference: p.Reference, Indicated: p.Indicated, AsFound: p.AsFound, AsLeft: p.AsLeft,
			Hysteresis: p.Hysteresis, Repeatability: p.Repeatability})
	}
	for _, r := range readings {
		page.Stops = append(page.Stops, report.CalibrationStop{Cycle: r.Cycle, Up: r.Up, Reference: r.Reference,
			AsFound: r.AsFound - r.Reference, AsLeft: f.Correct(r.Indicated) - r.Reference})
	}
	return page
}

// printComparison writes the figures to the terminal.
func printComparison(out io.Writer, c compared, f comparison.Figures) {
	decimals := max(si.Decimals(f.Stated/f.Change.Factor), 2) + 1
	value := func(x float64) string { return si.Format(f.Unit.FromSI(x), decimals) }
	change := func(x float64) string { return si.Format(x/f.Change.Factor, decimals) }
	fmt.Fprintf(out, "\n%s against %s\n\n", c.channel.Name, c.rec.Meta.Comparison.Reference)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "REFERENCE [%s]\tINDICATED\tAS FOUND\tAS LEFT\tHYSTERESIS\tREPEATABILITY\n", f.Unit.Symbol)
	for _, p := range f.Points {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", value(p.Reference), value(p.Indicated), change(p.AsFound), change(p.AsLeft), change(p.Hysteresis), change(p.Repeatability))
	}
	fmt.Fprintln(w)
	for _, l := range f.Budget {
		fmt.Fprintf(w, "%s\tu %s %s\t%s\n", l.Source, change(l.StdUncertainty), f.Change.Symbol, l.Note)
	}
	fmt.Fprintf(w, "together\tu %s %s\n", change(f.U), f.Change.Symbol)
	// A screen that cannot be written has nobody to tell.
	_ = w.Flush()
}
