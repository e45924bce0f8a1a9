package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"holdbench/daq"
	"holdbench/daq/comparison"
	"holdbench/daq/record"
)

// comparing is a comparison under way: it records every scan, steps the
// machine and says what it wants said.
type comparing struct {
	plan  comparisonPlan
	clock daq.Clock
	log   *record.Writer
	say   func(line string)

	mu      sync.Mutex
	machine *comparison.Machine
	over    bool
	aborted string
	err     error
}

// step steps the machine; what is to be said is said outside the lock, so that
// an answer may come from within.
func (c *comparing) step(in comparison.Input) {
	c.mu.Lock()
	if c.over {
		c.mu.Unlock()
		return
	}
	out := c.machine.Step(in)
	for _, e := range out.Events {
		c.err = errors.Join(c.err, c.log.Event(e))
	}
	if c.err != nil { // what is not recorded was not measured
		out.Done, out.Aborted = true, "the recording cannot be written"
	}
	c.over, c.aborted = out.Done, out.Aborted
	c.mu.Unlock()
	for _, line := range out.Lines {
		c.say(line)
	}
}

// answer takes a line that the operator typed.
func (c *comparing) answer(line string) {
	in := comparison.Tick(c.clock.Now())
	in.Answer = &line
	c.step(in)
}

// scan writes a scan, then steps the machine with what concerns it.
func (c *comparing) scan(s daq.Scan) error {
	c.mu.Lock()
	if !c.over {
		c.err = errors.Join(c.err, c.log.Scan(s))
	}
	c.mu.Unlock()
	in := comparison.Tick(s.At)
	for _, r := range s.Readings {
		switch {
		case r.Health != daq.Healthy:
		case r.Channel == c.plan.channel:
			in.Channel = r.Value
		case r.Channel == c.plan.reference:
			in.Reference = r.Value
		}
	}
	if !math.IsNaN(in.Channel) || !math.IsNaN(in.Reference) {
		c.step(in)
	}
	return nil
}

// event writes a gap or a fault that the scanner found.
func (c *comparing) event(e daq.Event) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.over {
		c.err = errors.Join(c.err, c.log.Event(e))
	}
}

// tick is how often time alone steps the machine.
const comparisonTick = 500 * time.Millisecond

// run goes on until the last stop was taken or the comparison was given up. The
// calling goroutine has joined the clock.
func (c *comparing) run(ctx context.Context, scanner *daq.Scanner) {
	c.step(comparison.Tick(c.clock.Now()))
	defer scanner.Subscribe(c.scan)()
	defer scanner.OnEvent(c.event)()
	for !c.done() {
		if c.clock.Sleep(ctx, c.clock.Now()+comparisonTick) != nil {
			c.answer("abort told to end")
			return
		}
		c.step(comparison.Tick(c.clock.Now()))
	}
}

func (c *comparing) done() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.over
}

// compare leads through a comparison and leaves its recording.
func compare(ctx context.Context, p comparisonPlan, scan *scanning, clock daq.Clock, m record.Meta, folder string, begun func(*comparing)) (dir, aborted string, err error) {
	dir = filepath.Join(folder, record.FolderName("calibration-"+p.config.Channel, m.Started, m.RunID))
	w, err := record.Create(dir, m)
	if err != nil {
		return "", "", unwritable("--out", folder, err)
	}
	c := &comparing{plan: p, clock: clock, log: w, machine: comparison.NewMachine(p.config)}
	begun(c)
	c.run(ctx, scan.scanner)
	if err := errors.Join(c.err, w.Close()); err != nil {
		return dir, "", fault(fmt.Errorf("%s: %w", dir, err))
	}
	return dir, c.aborted, nil
}

func (p comparisonPlan) recorded(operator, runID string, clock daq.Clock, channels []daq.Channel) record.Meta {
	return record.Meta{
		RunID: runID, SerialNumber: "calibration-" + p.config.Channel, Operator: operator,
		Started: clock.Date(0), ClockKind: clock.Kind(), Program: program,
		Bench:    record.SourceFile{Name: filepath.Base(p.bench.Path), Hash: p.bench.Hash, Text: p.bench.Text},
		Channels: channels, Comparison: &p.meta,
	}
}

// lead opens the bench and leads through the comparison at the terminal.
func (f *calibrateFlags) lead(cmd *cobra.Command, p comparisonPlan) (folder, aborted string, err error) {
	options, err := wireOptions(p.bench, f.ports)
	if err != nil {
		return "", "", err
	}
	var endTrace func()
	if options.Trace, endTrace, err = openTrace(f.trace, cmd.ErrOrStderr()); err != nil {
		return "", "", err
	}
	defer endTrace()
	runID, err := uuid.NewV7()
	if err != nil {
		return "", "", fault(err)
	}
	ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	clock := daq.NewWallClock()
	scan, err := startScanning(context.WithoutCancel(ctx), p.bench, clock, options)
	if err != nil {
		return "", "", err
	}
	defer func() { err = errors.Join(err, fault(scan.stop())) }()
	out := paragraphs(cmd.OutOrStdout())
	fmt.Fprintln(out, caution)
	meta := p.recorded(f.operator, runID.String(), clock, scan.wiring.Channels)
	folder, aborted, err = compare(ctx, p, scan, clock, meta, f.folder, func(c *comparing) {
		var one sync.Mutex // readings, time and answers speak
		c.say = func(line string) {
			one.Lock()
			defer one.Unlock()
			fmt.Fprintln(out, line)
		}
		go typed(cmd.InOrStdin(), c)
	})
	fmt.Fprintln(out, "Take the pressure off. Treat the line as pressurised until you have seen that it is not.")
	return folder, aborted, err
}

// typed hands on what the operator types; a keyboard that ends gives up.
func typed(r io.Reader, c *comparing) {
	lines := bufio.NewScanner(r)
	for lines.Scan() {
		c.answer(lines.Text())
	}
	c.answer("abort the keyboard is gone")
}
