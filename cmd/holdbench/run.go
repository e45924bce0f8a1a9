package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"github.com/google/uuid"
	"github.com/spf13/cobra"
	"golang.org/x/term"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/sequence"
	"holdbench/daq/strict"
)

type runFlags struct {
	procedure, serial, operator, position string
	scanFlags
	styleFlags
	challengeFlags
	overdueFlags
}

func runCommand(code *int) *cobra.Command {
	var f runFlags
	cmd := &cobra.Command{
		Use:   "run --bench bench.toml --procedure procedure.toml --serial SN",
		Short: "Test one unit on a bench: record, judge, write the page, watch until vented",
		Long: `run opens what the bench file names, leads through the procedure at the terminal,
records every reading before anything judges it, and leaves a recording folder
with result.json, a PDF and a PNG.

` + sequence.Spoken + `

Ctrl-C aborts the test, never the recording or the vent watch; a second Ctrl-C
leaves: treat the unit as pressurised.

` + caution,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.run(cmd, code) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.procedure, "procedure", "", "procedure file (TOML)")
	flags.StringVar(&f.serial, "serial", "", "serial number; asked for when not given")
	flags.StringVar(&f.operator, "operator", "", "who tests, for the page")
	flags.StringVar(&f.position, "position", "", "position on the bench; needed where there are several")
	f.scanFlags.add(cmd)
	f.styleFlags.add(cmd)
	f.challengeFlags.add(cmd)
	f.overdueFlags.add(cmd)
	return cmd
}

func (f *runFlags) run(cmd *cobra.Command, code *int) (err error) {
	shown, err := f.parse()
	if err != nil {
		return err
	}
	b, p, err := f.files()
	if err != nil {
		return err
	}
	position, err := choosePosition(b, f.position)
	if err != nil {
		return err
	}
	if err := b.Suits(position, p.Circuits, p.MaxPressure); err != nil {
		return err
	}
	if err := b.Drives(position.Name, p.Drives()); err != nil {
		return err
	}
	challenge, err := f.challenge(p)
	if err != nil {
		return err
	}
	lines := bufio.NewReader(cmd.InOrStdin())
	if err := f.scanSerial(cmd.OutOrStdout(), lines, p); err != nil {
		return err
	}
	overdue, err := f.overridden(cmd, b, position, f.operator, time.Now())
	if err != nil {
		return err
	}
	if err := warnUnresolvable(cmd.ErrOrStderr(), b, p, position); err != nil {
		return err
	}
	if challenge == nil {
		if err := warnUnchallenged(cmd.ErrOrStderr(), b, p, f.folder, time.Now()); err != nil {
			return err
		}
	}
	options, err := wireOptions(b, f.ports)
	if err != nil {
		return err
	}
	runID, err := uuid.NewV7()
	if err != nil {
		return fault(err)
	}
	trace, endTrace, err := openTrace(f.trace, cmd.ErrOrStderr())
	if err != nil {
		return err
	}
	defer endTrace()
	options.Trace = trace

	ctx, cancel := context.WithCancel(cmd.Context())
	defer cancel()
	clock := daq.NewWallClock()
	scan, err := startScanning(ctx, b, clock, options)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, fault(scan.stop())) }()

	board := newPanel(cmd.OutOrStdout(), shown.Display, isTerminal(cmd.OutOrStdout()))
	queue := newQueued(board)
	t := &unitTest{
		bench: b, procedure: p, position: position, channels: scan.wiring.Channels, scanner: scan.scanner, clock: clock,
		serial: f.serial, operator: f.operator, runID: runID.String(), folder: f.folder, shown: shown, panel: queue, challenge: challenge, overdue: overdue,
		started: func(l *sequence.Loop) {
			onInterrupt(ctx, scan.over, l, cancel, cmd.ErrOrStderr(), queue.Message)
			go orElse(cancel, cmd.ErrOrStderr(), func() {
				if err := readAnswers(lines, l.Answer, queue.Message); err != nil {
					queue.Message("the keyboard is lost: " + err.Error())
				}
			})
		},
	}
	folder, j, err := t.do(scan.ctx)
	queue.close()
	if err != nil {
		board.close(sequence.Outcome{Vented: sequence.TreatAsPressurised, Reason: "the run ended by a fault"})
		return err
	}
	r := j.result
	board.close(sequence.Outcome{Vented: r.Vented.State, Reason: r.Vented.Reason})
	for _, m := range j.messages {
		fmt.Fprintln(paragraphs(cmd.ErrOrStderr()), m)
	}
	fmt.Fprintln(paragraphs(cmd.OutOrStdout()), verdictText(r, shown.Display))
	fmt.Fprintln(cmd.OutOrStdout(), "recording, result and page: "+folder)
	*code = exitOf(r)
	return nil
}

// files reads bench and procedure, and reports the faults of both at once.
func (f *runFlags) files() (*bench.Bench, *procedure.Procedure, error) {
	return benchAndProcedure("run", f.bench, f.procedure)
}

// benchAndProcedure reads the two files that a command must be given.
func benchAndProcedure(command, benchPath, procedurePath string) (*bench.Bench, *procedure.Procedure, error) {
	var faults []error
	for _, needed := range []struct{ flag, value string }{{"--bench", benchPath}, {"--procedure", procedurePath}} {
		if needed.value == "" {
			faults = append(faults, &strict.Error{Field: needed.flag, Found: "nothing", Want: "a file, see " + command + " --help"})
		}
	}
	if len(faults) > 0 {
		return nil, nil, errors.Join(faults...)
	}
	b, benchErr := bench.Load(benchPath)
	p, procedureErr := procedure.Load(procedurePath)
	return b, p, errors.Join(benchErr, procedureErr)
}

// choosePosition takes the named position, or the only one.
func choosePosition(b *bench.Bench, name string) (bench.Position, error) {
	var names []string
	for _, p := range b.Positions {
		if p.Name == name || name == "" && len(b.Positions) == 1 {
			return p, nil
		}
		names = append(names, p.Name)
	}
	found := fmt.Sprintf("%q", name)
	if name == "" {
		found = "nothing"
	}
	return bench.Position{}, &strict.Error{File: b.Path, Field: "--position", Found: found, Want: "one of " + strings.Join(names, ", ")}
}

// scanSerial asks for the serial number where none was given, and holds it
// against the model's pattern.
func (f *runFlags) scanSerial(w io.Writer, lines *bufio.Reader, p *procedure.Procedure) error {
	if f.serial != "" {
		return p.CheckSerial(f.serial)
	}
	for {
		fmt.Fprintf(w, "Scan the serial number of the %s: ", p.Model)
		text, err := lines.ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return fault(err)
		}
		f.serial = strings.TrimRight(text, "\r\n")
		wrong := p.CheckSerial(f.serial)
		if wrong == nil || err != nil { // nobody is there to scan again
			return wrong
		}
		fmt.Fprintln(w, wrong)
	}
}

// onInterrupt lets the first Ctrl-C abort the test and the second leave.
//
// A terminal that is closed counts as a Ctrl-C. Writing to a screen that is gone
// ends no program that has outputs to see to; nor does one Ctrl-C more before
// scanning is over, which leaves them safe, unless that takes very long. Ctrl-Z
// does nothing: a program that is stopped watches over no pressure.
func onInterrupt(ctx context.Context, over <-chan struct{}, l *sequence.Loop, leave func(), stderr io.Writer, say func(string)) {
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	signal.Ignore(append(stops, syscall.SIGPIPE)...)
	go orElse(leave, stderr, func() {
		defer signal.Stop(signals)
		for first := true; ctx.Err() == nil; first = false {
			select {
			case <-ctx.Done():
			case got := <-signals:
				if !first {
					say("Leaving. " + banner + ".")
					leave()
					break
				}
				say("The test is aborted, if it still runs. Recording and vent watch go on; Ctrl-C again leaves.")
				// A disk that stands still may hold it up, but not the second one.
				go orElse(leave, stderr, func() { l.Abort(signalWords[got]) })
			}
		}
		select {
		case <-over:
		case <-time.After(longestParting):
		}
	})
}

// longestParting is how long leaving may take before a Ctrl-C ends the program
// as it stands.
const longestParting = 30 * time.Second

// orElse does something, and leaves the run when it panics, which brings the
// bench to its safe state.
func orElse(leave func(), stderr io.Writer, do func()) {
	if p := daq.Guard(do); p != nil {
		fmt.Fprintln(stderr, p)
		leave()
	}
}

// signalWords are the causes that a recording keeps.
var signalWords = map[os.Signal]string{os.Interrupt: "Ctrl-C", syscall.SIGTERM: "told to end by the system",
	syscall.SIGHUP: "the terminal was closed"}

// isTerminal says whether w can show a progress bar.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
