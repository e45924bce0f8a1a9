package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"text/tabwriter"
	"time"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/link"
	"holdbench/daq/sequence"
	"holdbench/daq/simbench"
	"holdbench/report/result"
)

// demoNote stands in every recording and on every page of the demo.
const demoNote = "Demonstration with invented data: no unit was tested."

// between is the time from the start of one unit's test to the next's.
const between = 15 * time.Minute

type demoFlags struct {
	folder string
	styleFlags
	seed          uint64
	realTime, tcp bool
	trace         string
	traced        func(link.Traced) // nil: nobody wants it
}

func demoCommand(code *int) *cobra.Command {
	var f demoFlags
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Test a small lot on a simulated bench, from serial line to page",
		Long: `demo starts a simulated bench (invented data), tests a small lot of holding valves
for the slewing brakes of harbour cranes, and leaves for each serial number a
recording, result.json, a PDF and a PNG. Nothing that is there already is changed.

Exit code: 0 when every verdict is as the scenario says.`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.demo(cmd, code) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.folder, "out", "holdbench-demo", "folder for what the demo leaves; a number is added where it exists")
	flags.Uint64Var(&f.seed, "seed", 1, "seed of noise and run ids: the same seed gives the same results")
	flags.BoolVar(&f.realTime, "real-time", false, "run at the wall clock instead of as fast as the machine allows")
	flags.BoolVar(&f.tcp, "tcp", false, "put the simulated instruments on TCP ports instead of pseudo-terminals")
	traceFlag(cmd, &f.trace)
	f.add(cmd)
	return cmd
}

func (f *demoFlags) demo(cmd *cobra.Command, code *int) error {
	shown, err := f.parse()
	if err != nil {
		return err
	}
	traced, endTrace, err := openTrace(f.trace, cmd.ErrOrStderr())
	if err != nil {
		return err
	}
	defer endTrace()
	f.traced = traced
	folder, err := freshFolder(f.folder)
	if err != nil {
		return unwritable("--out", f.folder, err)
	}
	if err := layOut(folder); err != nil {
		return fault(err)
	}
	out := cmd.OutOrStdout()
	fmt.Fprintf(out, "%s\n%s\n", demoNote, caution)
	ids := rand.New(rand.NewPCG(f.seed, 0))
	var rows []demoRow
	var lot []judged
	for i, unit := range simbench.CraneLot() {
		fmt.Fprintf(out, "\n%s (%s): %s\n", unit.Serial, unit.Title, unit.What)
		j, err := f.testUnit(cmd.Context(), out, unit, i, folder, runIDFrom(ids), shown)
		if err != nil {
			return err
		}
		fmt.Fprintln(out, verdictText(j.result, shown.Display))
		rows = append(rows, demoRow{unit, j.result})
		lot = append(lot, j)
	}
	if err := writeLot(filepath.Join(folder, "lot.pdf"), lot, shown); err != nil {
		return fault(err)
	}
	if !summarise(out, rows, folder) {
		*code = exitFault
	}
	return nil
}

// testUnit mounts one unit on a simulated bench of its own and tests it with a
// scripted operator, through the same ports and loop as a real run.
func (f *demoFlags) testUnit(ctx context.Context, out io.Writer, unit simbench.Unit, index int, folder, runID string, shown style) (j judged, err error) {
	b, p, err := unit.Load()
	if err != nil {
		return judged{}, fault(err)
	}
	clock, taken := f.clock(index)
	rig, err := simbench.New(b, clock, f.seed*1000+uint64(index))
	if err != nil {
		return judged{}, fault(err)
	}
	unit.Prepare(rig)
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	served, err := rig.Serve(ctx, simbench.ServeOptions{TCP: f.tcp})
	if err != nil {
		return judged{}, fault(err)
	}
	// Until the loop has begun, the clock stands still.
	leave := clock.Join()
	scan, err := startScanning(ctx, b, clock, bench.WireOptions{Ports: served.Ports, Taken: taken, Trace: f.traced})
	if err != nil {
		return judged{}, errors.Join(err, served.Close())
	}
	board := newPanel(out, shown.Display, isTerminal(out))
	board.every = time.Minute
	hand := &sequence.Script{OnPhase: unit.Hands(rig), Delay: simbench.CraneDelays, Insist: true, Watcher: board}
	t := &unitTest{
		bench: b, procedure: p, position: b.Positions[0], channels: scan.wiring.Channels, scanner: scan.scanner,
		clock: clock, joined: true, serial: unit.Serial, operator: "scripted operator", runID: runID, note: demoNote,
		folder: folder, shown: shown, panel: hand,
		started: func(l *sequence.Loop) { hand.Answer = l.Answer },
	}
	_, j, err = t.do(ctx)
	leave()
	err = errors.Join(err, scan.stop(), served.Close())
	if err != nil {
		return judged{}, fault(err)
	}
	board.close(sequence.Outcome{Vented: j.result.Vented.State, Reason: j.result.Vented.Reason})
	return j, nil
}

// clock is the demo's time: lock-step from a fixed, invented instant, or the
// wall clock. In lock-step the links tell it what is in flight.
func (f *demoFlags) clock(index int) (daq.Clock, func(string) func(int)) {
	if f.realTime {
		return daq.NewWallClock(), nil
	}
	c := simbench.NewLockStep(simbench.CraneStart.Add(time.Duration(index) * between))
	return c, c.Taken
}

// runIDFrom draws a run id from the seed's own random numbers.
func runIDFrom(ids *rand.Rand) string {
	var id uuid.UUID
	for i := range id {
		id[i] = byte(ids.Uint32())
	}
	id[6] = id[6]&0x0f | 0x80 // RFC 9562: version 8, free form
	id[8] = id[8]&0x3f | 0x80
	return id.String()
}

// freshFolder makes the folder, or the first free name with a number.
func freshFolder(name string) (string, error) {
	for n := 1; ; n++ {
		folder := name
		if n > 1 {
			folder = fmt.Sprintf("%s-%d", name, n)
		}
		if err := os.MkdirAll(filepath.Dir(folder), 0o777); err != nil {
			return "", err
		}
		err := os.Mkdir(folder, 0o777)
		if !errors.Is(err, fs.ErrExist) {
			return folder, err
		}
	}
}

// layOut leaves the demo's bench, characterisation and procedure files beside
// its recordings, to look at and to run with.
func layOut(folder string) error {
	files := simbench.CraneFiles()
	return fs.WalkDir(files, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(files, path)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(folder, path), text, 0o666)
	})
}

type demoRow struct {
	unit   simbench.Unit
	result *result.Result
}

// asExpected says whether the verdict is what the scenario says.
func (d demoRow) asExpected() bool {
	want := d.unit.Expect
	return d.result.Verdict == want.Verdict.String() && d.result.Circuits[0].Tests[0].Valid == want.Valid
}

// summarise prints a line a unit and says whether all came out as expected.
func summarise(out io.Writer, rows []demoRow, folder string) bool {
	fmt.Fprintln(out)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "SERIAL NUMBER\tVERDICT\tUNIT\tAS THE SCENARIO SAYS")
	all := true
	for _, row := range rows {
		word := "yes"
		if !row.asExpected() {
			word, all = "NO: "+row.unit.Expect.Verdict.String(), false
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", row.unit.Serial, row.result.Verdict, row.unit.Title, word)
	}
	// A screen that cannot be written has nobody to tell.
	_ = w.Flush()
	fmt.Fprintln(out, "recordings, results and pages: "+folder)
	return all
}
