package main

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/comparison"
	"holdbench/daq/record"
	"holdbench/daq/strict"
)

type calibrateFlags struct {
	channel, reference, referenceU, points string
	certificate, due, operator, fit, from  string
	settle, average                        string
	cycles                                 int
	scanFlags
	styleFlags
}

func calibrateCommand(code *int) *cobra.Command {
	var f calibrateFlags
	cmd := &cobra.Command{
		Use:   "calibrate --bench bench.toml --channel trapped_a --reference R",
		Short: "Compare a channel with a reference, up and down, and write its calibration",
		Long: `calibrate leads through a comparison: up through the points and down again, cycle
by cycle. At each it waits until the reading is steady, averages it, shows value
and noise, and asks. Every reading is recorded. It then fits the correction,
shows residuals, hysteresis, repeatability and uncertainty, and leaves a
[[calibration]] block, which the bench file and assess --calibration both take,
and a page with the deviations as found and as left.

The reference is another channel of the bench, which has a certificate of its
own, or is read by a person, e.g. a dead-weight tester: then
--reference-uncertainty says how well it is known (standard uncertainty, k = 1).

` + comparison.Spoken + `

What it makes is ` + comparison.NotAccredited + `.

  holdbench calibrate --from FOLDER     evaluates a recorded comparison again

` + caution,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.calibrate(cmd, code) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.channel, "channel", "", "the channel to be calibrated")
	flags.StringVar(&f.reference, "reference", "", "a channel of the bench, or in words what a person reads, with its certificate")
	flags.StringVar(&f.referenceU, "reference-uncertainty", "", "the reference's standard uncertainty (k = 1), e.g. \"0.02 bar\"; of a channel: instead of its certificate's")
	flags.StringVar(&f.points, "points", "", `where to compare, rising, e.g. "0 bar, 50 bar, 100 bar"; absent: 0, 20, 40, 60, 80 and 100 % of the channel's range`)
	flags.IntVar(&f.cycles, "cycles", 2, "how often up and down")
	flags.StringVar(&f.settle, "settle", "", fmt.Sprintf("how long a reading must have been steady; absent: %v, or %d readings where an instrument is slow", usualSettle, settleReadings))
	flags.StringVar(&f.average, "average", "", fmt.Sprintf("over how long it is then averaged; absent: %v, or %d readings where an instrument is slow", usualAverage, averageReadings))
	flags.StringVar(&f.fit, "fit", "points", "the correction's form: points, line or quadratic")
	flags.StringVar(&f.certificate, "certificate", "", "the new certificate's number")
	flags.StringVar(&f.due, "due", "", "the day on which the calibration is due again, e.g. 2027-11-25: only who knows the transducer can say how long it holds")
	flags.StringVar(&f.operator, "operator", "", "who calibrates")
	flags.StringVar(&f.from, "from", "", "evaluate the comparison in this recording's folder again")
	f.scanFlags.add(cmd)
	f.styleFlags.add(cmd)
	return cmd
}

func (f *calibrateFlags) calibrate(cmd *cobra.Command, code *int) error {
	shown, err := f.parse()
	if err != nil {
		return err
	}
	folder := f.from
	if folder == "" {
		plan, err := f.plan(shown.Display)
		if err != nil {
			return err
		}
		var aborted string
		if folder, aborted, err = f.lead(cmd, plan); err != nil {
			return err
		}
		if aborted != "" {
			fmt.Fprintln(cmd.ErrOrStderr(), "given up: "+aborted+"; what was recorded is in "+folder)
			*code = exitNotCompleted
			return nil
		}
	} else if err := f.onlyForRuns(cmd); err != nil {
		return err
	}
	said, err := f.said()
	if err != nil {
		return err
	}
	return evaluateComparison(cmd, folder, said, shown)
}

// onlyForRuns refuses flags that mean nothing beside --from.
func (f *calibrateFlags) onlyForRuns(cmd *cobra.Command) error {
	var faults []error
	for _, name := range []string{"bench", "channel", "reference", "reference-uncertainty", "points", "cycles", "settle", "average", "out", "port", "trace"} {
		if flag := cmd.Flags().Lookup(name); flag.Changed {
			faults = append(faults, &strict.Error{Field: "--" + name, Found: strict.Quote(flag.Value.String()), Want: "this only without --from: the recording says it"})
		}
	}
	return errors.Join(faults...)
}

// said are what a person says of the certificate; what is empty comes from the
// recording.
type said struct {
	number, by string
	due        time.Time
	fit        comparison.Fit
}

func (f *calibrateFlags) said() (said, error) {
	s := said{number: f.certificate, by: f.operator, fit: comparison.Fit(f.fit)}
	if f.due != "" {
		var err error
		if s.due, err = parseDay("--due", f.due); err != nil {
			return s, err
		}
	}
	return s, nil
}

// comparisonPlan is a comparison as asked for.
type comparisonPlan struct {
	bench  *bench.Bench
	config comparison.Config
	// channel and reference are indices of channels; reference is -1 where a
	// person reads it.
	channel, reference int
	meta               record.Comparison
}

// plan reads what was asked for, all faults at once.
func (f *calibrateFlags) plan(display si.Display) (comparisonPlan, error) {
	var faults []error
	bad := func(field, found, want string) {
		faults = append(faults, &strict.Error{Field: field, Found: found, Want: want})
	}
	for _, needed := range []struct{ flag, value, want string }{
		{"--bench", f.bench, "a bench file"}, {"--channel", f.channel, "the channel to be calibrated"},
		{"--reference", f.reference, "a channel of the bench, or in words what a person reads"},
		{"--certificate", f.certificate, "a number for the new certificate"},
		{"--due", f.due, "a day, e.g. 2027-11-25: only who knows the transducer can say how long a calibration holds"},
		{"--operator", f.operator, "who calibrates"},
	} {
		if strings.TrimSpace(needed.value) == "" {
			bad(needed.flag, "nothing", needed.want)
		}
	}
	if len(faults) > 0 {
		return comparisonPlan{}, errors.Join(faults...)
	}
	b, err := bench.Load(f.bench)
	if err != nil {
		return comparisonPlan{}, err
	}
	p := comparisonPlan{bench: b, meta: record.Comparison{Channel: f.channel, Reference: f.reference, Certificate: f.certificate, Due: f.due, Fit: f.fit}}
	ch, at, ok := b.Channel(f.channel)
	if !ok || ch.State {
		return p, &strict.Error{File: b.Path, Field: "--channel", Found: strict.Quote(f.channel), Want: "the name of a measuring channel"}
	}
	p.channel = at
	p.config = comparison.Config{Channel: ch.Name, Quantity: ch.Quantity, Unit: display.Unit(ch.Quantity), Change: display.Unit(ch.Quantity.Difference())}
	if day, err := parseDay("--due", f.due); err != nil {
		faults = append(faults, err)
	} else if !day.After(time.Now()) {
		bad("--due", f.due, "a day to come")
	}
	if !(f.cycles >= 1 && f.cycles <= 10) {
		bad("--cycles", fmt.Sprint(f.cycles), "1 to 10")
	}
	faults = append(faults, f.takeReference(&p, ch), f.takePoints(&p, ch))
	p.config.Settle, p.config.Average = p.durations()
	if f.settle != "" {
		p.config.Settle = flagDuration("--settle", f.settle, &faults)
	}
	if f.average != "" {
		p.config.Average = flagDuration("--average", f.average, &faults)
	}
	return p, errors.Join(faults...)
}

// How long a comparison settles and averages where nobody says it: so long, and
// over so many readings of the slower instrument.
const (
	usualSettle     = 5 * time.Second
	settleReadings  = 8
	usualAverage    = 10 * time.Second
	averageReadings = 10
)

// durations are settling and averaging by the slower of the two instruments.
func (p comparisonPlan) durations() (settle, average time.Duration) {
	slowest := time.Duration(0)
	for _, at := range []int{p.channel, p.reference} {
		for _, in := range p.bench.Instruments {
			if at >= 0 && in.Name == p.bench.Channels[at].Instrument {
				slowest = max(slowest, in.Interval)
			}
		}
	}
	return max(usualSettle, settleReadings*slowest), max(usualAverage, averageReadings*slowest)
}

func flagDuration(flag, text string, faults *[]error) time.Duration {
	s, err := si.Parse(text, si.Time)
	if err != nil || !(s >= 0.5 && s <= 3600) {
		*faults = append(*faults, &strict.Error{Field: flag, Found: quotedOrNothing(text), Want: `a time with unit, from "0.5 s" to "1 h"`})
		return 0
	}
	return time.Duration(s * float64(time.Second))
}

// takeReference finds out what the reference is and how well it is known.
func (f *calibrateFlags) takeReference(p *comparisonPlan, ch bench.Channel) error {
	u := math.NaN()
	if f.referenceU != "" {
		x, err := si.Parse(f.referenceU, ch.Quantity.Difference())
		if err != nil || !(x > 0) {
			return &strict.Error{Field: "--reference-uncertainty", Found: strict.Quote(f.referenceU), Want: fmt.Sprintf("a standard uncertainty (k = 1) above zero with unit, e.g. \"0.02 %s\"", p.config.Change.Symbol)}
		}
		u = x
	}
	ref, at, isChannel := p.bench.Channel(f.reference)
	air := p.bench.AmbientU(ch) // between a gauge reference and an absolute channel
	if !isChannel {
		p.reference, p.config.Typed, p.config.ReferenceU = -1, true, math.Hypot(u, air)
		if math.IsNaN(u) {
			return &strict.Error{Field: "--reference-uncertainty", Found: "nothing", Want: fmt.Sprintf("how well %s is known, as a standard uncertainty (k = 1): it is no channel of the bench, so a person reads it", strict.Quote(f.reference))}
		}
		return nil
	}
	field := "--reference"
	switch {
	case at == p.channel:
		return &strict.Error{Field: field, Found: strict.Quote(f.reference), Want: "another channel than the one to be calibrated"}
	case ref.Quantity != ch.Quantity:
		return &strict.Error{Field: field, Found: fmt.Sprintf("%s, a %s channel", strict.Quote(f.reference), ref.Quantity), Want: "a " + ch.Quantity.String() + " channel"}
	case ref.Calibration == nil:
		return &strict.Error{File: p.bench.Path, Line: ref.Line, Field: field, Found: strict.Quote(f.reference) + " without a calibration", Want: "a reference with a certificate of its own"}
	case slices.ContainsFunc(p.bench.Overdue(time.Now()), func(c bench.Channel) bool { return c.Name == ref.Name }):
		return &strict.Error{File: p.bench.Path, Line: ref.Line, Field: field, Found: strict.Quote(f.reference) + ", due on " + ref.Calibration.Due.Format(time.DateOnly), Want: "a reference whose calibration is in date"}
	}
	p.reference, p.meta.ReferenceChannel = at, ref.Name
	p.meta.Reference = fmt.Sprintf("channel %s of the bench, certificate %s, due %s", ref.Name, ref.Calibration.Certificate, ref.Calibration.Due.Format(time.DateOnly))
	p.config.ReferenceU = math.Hypot(ref.Calibration.U, ref.Resolution/math.Sqrt(12))
	if !math.IsNaN(u) {
		p.config.ReferenceU = u
	}
	if !ref.Absolute {
		p.config.ReferenceU = math.Hypot(p.config.ReferenceU, air)
	}
	return nil
}

// evenPoints is how many points a comparison has by default.
const evenPoints = 6

// takePoints reads the points, which the channel must be able to measure.
func (f *calibrateFlags) takePoints(p *comparisonPlan, ch bench.Channel) error {
	low, high := p.bench.GaugeRange(ch)
	known := !math.IsNaN(low) && !math.IsNaN(high)
	want := fmt.Sprintf("rising values with unit, e.g. %s", strict.Quote(fmt.Sprintf("0 %[1]s, 50 %[1]s, 100 %[1]s", p.config.Unit.Symbol)))
	var points []float64
	switch {
	case f.points == "" && !known:
		return &strict.Error{Field: "--points", Found: "nothing", Want: want + ": the channel states no range"}
	case f.points == "":
		points = comparison.Even(low, high, evenPoints)
	default:
		for _, text := range strings.Split(f.points, ",") {
			x, err := si.Parse(strings.TrimSpace(text), ch.Quantity)
			if err != nil {
				return &strict.Error{Field: "--points", Found: strict.Quote(strings.TrimSpace(text)), Want: want}
			}
			points = append(points, x)
		}
	}
	for i := 1; i < len(points); i++ {
		if !(points[i] > points[i-1]) {
			return &strict.Error{Field: "--points", Found: strict.Quote(f.points), Want: want}
		}
	}
	if known && (points[0] < low-1 || points[len(points)-1] > high+1) {
		return &strict.Error{Field: "--points", Found: strict.Quote(f.points), Want: "points within the channel's range"}
	}
	least, names := 0, []string{}
	for _, row := range comparison.Fits {
		names = append(names, string(row.Name))
		if row.Name == comparison.Fit(f.fit) {
			least = row.Least
		}
	}
	switch {
	case least == 0:
		return &strict.Error{Field: "--fit", Found: strict.Quote(f.fit), Want: strings.Join(names, ", ")}
	case len(points) < least:
		return &strict.Error{Field: "--points", Found: fmt.Sprintf("%d", len(points)), Want: fmt.Sprintf("at least %d for --fit %s", least, f.fit)}
	}
	p.config.Stops = comparison.Plan(points, f.cycles)
	return nil
}

// orRecorded is what was said now, or else what the recording says.
func (s said) orRecorded(c record.Comparison, operator string) (said, error) {
	s.number, s.by = cmp.Or(s.number, c.Certificate), cmp.Or(s.by, operator)
	if s.due.IsZero() {
		var err error
		if s.due, err = parseDay("--due", c.Due); err != nil {
			return s, err
		}
	}
	return s, nil
}

// freePath is a name in a folder that is not taken: "calibration.toml", then
// "calibration-2.toml".
func freePath(path func(suffix string) string) string {
	for n := 1; ; n++ {
		suffix := ""
		if n > 1 {
			suffix = fmt.Sprintf("-%d", n)
		}
		if _, err := os.Lstat(path(suffix)); err != nil {
			return path(suffix)
		}
	}
}
