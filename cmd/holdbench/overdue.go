package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/record"
	"holdbench/daq/strict"
)

// overdueFlags let an engineer test with a calibration that is overdue.
type overdueFlags struct{ reason string }

const overdueFlag = "override-overdue"

func (f *overdueFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.reason, overdueFlag, "", "an engineer's `REASON` for a test with an overdue calibration; it stands beside the verdict (needs --operator)")
}

// refuseOverdue refuses a bench with a transducer whose calibration is
// overdue: all of them at once. One that takes no part at the position is only
// warned of.
func refuseOverdue(warn io.Writer, b *bench.Bench, position bench.Position, at time.Time) error {
	needed, others := b.OverdueAt(position, at)
	for _, ch := range others {
		fmt.Fprintf(warn, "warning: channel %s: its calibration was due on %s; it takes no part in tests at position %s\n", ch.Name, ch.Calibration.Due.Format(time.DateOnly), position.Name)
	}
	var faults []error
	for _, ch := range needed {
		file, line := b.Path, ch.Calibration.DueLine
		if ch.Calibration.Source != "" {
			file = ch.Calibration.Source
		}
		faults = append(faults, &strict.Error{
			File: file, Line: line, Field: fmt.Sprintf("channel %q: calibration: due", ch.Name),
			Found: ch.Calibration.Due.Format(time.DateOnly) + ", which is past",
			Want:  "a calibration that is in date: no test is made with an overdue transducer, unless an engineer says why: --" + overdueFlag,
		})
	}
	return errors.Join(faults...)
}

// overridden refuses a bench with a certificate dated after today, and one with
// an overdue calibration, unless an engineer says why the test is made all the
// same; nil where nothing is overdue.
func (f *overdueFlags) overridden(cmd *cobra.Command, b *bench.Bench, position bench.Position, by string, at time.Time) (*record.Overdue, error) {
	if err := refusePostdated(b, at); err != nil {
		return nil, err
	}
	if !cmd.Flags().Changed(overdueFlag) {
		return nil, refuseOverdue(cmd.ErrOrStderr(), b, position, at)
	}
	reason := strings.TrimSpace(f.reason)
	var faults []error
	if reason == "" {
		faults = append(faults, &strict.Error{Field: "--" + overdueFlag, Found: "no reason", Want: "why a test is made with an overdue calibration; the page prints it"})
	}
	if by == "" {
		faults = append(faults, &strict.Error{Field: "--operator", Found: "nothing", Want: "who overrides, beside --" + overdueFlag})
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	if needed, _ := b.OverdueAt(position, at); len(needed) == 0 {
		fmt.Fprintln(cmd.ErrOrStderr(), "nothing is overdue: there is nothing to override")
		return nil, nil
	}
	return &record.Overdue{Reason: reason, By: by}, nil
}

// noteOverdue writes down among the events that the run is made with overdue
// calibrations.
func (t *unitTest) noteOverdue(w *record.Writer) error {
	o := t.overdue
	if o == nil {
		return nil
	}
	var names []string
	needed, _ := t.bench.OverdueAt(t.position, t.clock.Date(0))
	for _, ch := range needed {
		names = append(names, ch.Name+" (due "+ch.Calibration.Due.Format(time.DateOnly)+")")
	}
	return w.Event(daq.Event{Kind: daq.Note, Subject: "overdue calibration",
		Text: fmt.Sprintf("%s overdue; overridden by %s: %s", strings.Join(names, ", "), o.By, o.Reason)})
}
