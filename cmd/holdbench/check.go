package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/strict"
)

func checkCommand(code *int) *cobra.Command {
	var path, units, trace string
	var ports map[string]string
	var seconds float64
	cmd := &cobra.Command{
		Use:   "check --bench bench.toml",
		Short: "Open everything, read each channel for a few seconds, say where to look first",
		Long: `check opens every port that the bench file names, reads each channel for a few
seconds and says what is wrong: first the one thing to look at first (which
wire, which terminal, which key of the bench file), then the rest; then value,
noise, rate and health of each channel, the pace of each instrument, and where
the time of each line goes: characters on the wire, the module's answer, the
USB adapter. It asks what a test asks and nothing else.`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			display, err := parseUnits(units)
			if err != nil {
				return err
			}
			switch {
			case path == "":
				return &strict.Error{Field: "--bench", Found: "nothing", Want: "a bench file"}
			case !(seconds >= 0.5 && seconds <= 3600):
				return &strict.Error{Field: "--seconds", Found: fmt.Sprint(seconds), Want: "0.5 to 3600"}
			}
			b, err := bench.Load(path)
			if err != nil {
				return err
			}
			options, err := wireOptions(b, ports)
			if err != nil {
				return err
			}
			record, end, err := openTrace(trace, cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			defer end()
			options.Trace = record
			return check(cmd, b, options, display, time.Duration(seconds*float64(time.Second)), code)
		},
	}
	cmd.Flags().StringVar(&path, "bench", "", "bench file (TOML)")
	cmd.Flags().Float64Var(&seconds, "seconds", 5, "how long to read")
	portsFlag(cmd, &ports)
	traceFlag(cmd, &trace)
	unitsFlag(cmd, &units)
	return cmd
}

// check reads the bench for a while and prints the one thing to look at first,
// then everything else that is wrong, then what each channel and each
// instrument gave and where the time of each line goes.
func check(cmd *cobra.Command, b *bench.Bench, options bench.WireOptions, display si.Display, long time.Duration, code *int) error {
	watched, err := watch(cmd.Context(), cmd.ErrOrStderr(), b, options, long)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	today := time.Now()
	findings := append(watched.bench.Diagnose(watched.wiring, watched.probes, watched.ear.Line), besides(b, today)...)
	prose := paragraphs(out)
	printFindings(prose, findings)
	sound := printChannels(out, watched.wiring.Channels, watched.probes, display, long)
	printInstruments(out, b, watched.probes, long)
	sound = printOutputs(prose, b) && sound
	printLines(prose, b, watched)
	printNotes(prose, b)
	for _, f := range findings {
		sound = sound && f.Depth >= bench.NowAndThen
	}
	if !sound {
		*code = exitBadInput
		fmt.Fprintln(cmd.ErrOrStderr(), "check: the bench is not in order, see above")
	}
	return nil
}

// watched is a bench after it was watched for a while.
type watched struct {
	bench  *bench.Bench // with the ports that were opened in place of the file's
	wiring *bench.Wiring
	probes []bench.Probe
	ear    *discovery.Ear
	// ports are what was opened, by the link's name.
	ports map[string]string
	long  time.Duration
}

// watch opens what the bench file names, reads it for that long at its own
// pace and then for a while out of step.
func watch(ctx context.Context, progress io.Writer, b *bench.Bench, options bench.WireOptions, long time.Duration) (*watched, error) {
	w := &watched{ear: &discovery.Ear{}, ports: map[string]string{}, long: long}
	record := options.Trace
	options.Partial = true
	options.Trace = func(t link.Traced) {
		w.ear.Hear(t)
		if record != nil {
			record(t)
		}
	}
	opened := *b
	opened.Links = slices.Clone(b.Links)
	for i, l := range b.Links {
		opened.Links[i].Port = cmp.Or(options.Ports[l.Name], l.Port)
		w.ports[l.Name] = opened.Links[i].Port
	}
	w.bench = &opened
	clock := daq.NewWallClock()
	var err error
	if w.wiring, err = b.Wire(clock, options); err != nil {
		return nil, err
	}
	printOpening(progress, b)
	fmt.Fprintf(progress, "reading %s for %s …\n", b.Name, long)
	w.probes, err = w.wiring.Probe(ctx, clock, long)
	if err == nil {
		for _, l := range b.Links {
			w.ear.Forget(l.Name)
		}
		err = w.wiring.AskIrregularly(ctx, w.probes, min(long, irregular))
	}
	if err = errors.Join(err, w.wiring.Close()); err != nil {
		return nil, fault(err)
	}
	return w, nil
}

// irregular is how long the instruments are asked out of step: some forty
// exchanges.
const irregular = 2500 * time.Millisecond

// besides are the findings that no wire tells of.
func besides(b *bench.Bench, today time.Time) []bench.Finding {
	var found []bench.Finding
	for _, ch := range b.Overdue(today) {
		found = append(found, bench.Finding{Depth: bench.AtChannel,
			Look: fmt.Sprintf("channel %s: the calibration of its transducer", ch.Name),
			What: fmt.Sprintf("calibration was due on %s; no test that needs it is made", ch.Calibration.Due.Format("2006-01-02"))})
	}
	for _, ch := range b.Postdated(today) {
		found = append(found, bench.Finding{Depth: bench.AtChannel,
			Look: fmt.Sprintf("channel %s: the date of its certificate, or this computer's clock", ch.Name),
			What: fmt.Sprintf("calibration is dated %s, which is still to come; no test is made with it", ch.Calibration.Date.Format("2006-01-02"))})
	}
	for _, ch := range b.Uncarried() {
		found = append(found, bench.Finding{Depth: bench.AtChannel,
			Look: fmt.Sprintf("channel %s: how far its module carries the signal: raw_range in the bench file", ch.Name),
			What: "its range goes on where the points of its scaling end; a module that carries no more reads the same there whatever the value"})
	}
	for _, in := range b.Unwatched() {
		found = append(found, bench.Finding{Depth: bench.AtChannel,
			Look: fmt.Sprintf("instrument %s: its own communication watchdog: has it one, and is it set?", in.Name),
			What: "it switches outputs, and the bench file does not say that it switches them off by itself when nobody talks to it"})
	}
	return found
}
