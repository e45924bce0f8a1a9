package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"os/signal"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"holdbench/analysis/study"
	"holdbench/daq/simbench"
	"holdbench/daq/strict"
)

// studyLooks is how often a growing hold is looked at.
const studyLooks = 10

// studyFlags are what the study is asked.
type studyFlags struct {
	benches, tests int
	seed           uint64
	scenes         []string
	leaks          []float64
	early          int
	out            string
	json           bool
	readme         string
	resume         bool
}

func studyCommand(*int) *cobra.Command {
	f := &studyFlags{}
	c := &cobra.Command{
		Use:   "study",
		Short: "Try judgement on simulated benches: coverage, error rates, time to a verdict",
		Long: `Simulates benches, each with a true thermal coefficient, lag, gain, drift and
settling of its own, drawn once from what a characterisation states; lets them
test units of known leaks in one circumstance after another; and counts how
often the intervals hold the truth and how often a verdict is wrong. The
simulation's physics is finer than what is fitted. Beside holdbench stand the
two-point drop and least squares on time and temperature. A forbidden answer is
PASS at 1.5 times the limit and more, or FAIL at half of it and less.

With --out each bench is kept as soon as it is done, and --resume goes on with an
interrupted study. It goes on when its terminal is closed.

Scenes:
` + sceneLines(),
		Example: "  holdbench study\n  holdbench study --benches 60 --tests 2 --scene door,settling --leak 0,1.5\n  holdbench study --out study --readme README.md",
		Args:    noArguments,
		RunE:    func(cmd *cobra.Command, _ []string) error { return runStudy(cmd, *f) },
	}
	flags := c.Flags()
	flags.IntVar(&f.benches, "benches", 500, "simulated benches, at least 2")
	flags.IntVar(&f.tests, "tests", 5, "tests of each bench in each cell")
	flags.Uint64Var(&f.seed, "seed", 1, "same seed, same table")
	flags.StringSliceVar(&f.scenes, "scene", nil, "only these scenes: "+strings.Join(sceneNames(), ", "))
	flags.Float64SliceVar(&f.leaks, "leak", nil, "only these leaks, in limits")
	flags.IntVar(&f.early, "early-tests", 1, "of the tests, how many are also judged while the hold grows (slow)")
	flags.StringVar(&f.out, "out", "", "folder for study.md (all tables), study.csv and study.json")
	flags.BoolVar(&f.resume, "resume", false, "go on with the interrupted study in --out, of the same program and flags")
	flags.BoolVar(&f.json, "json", false, "JSON instead of the table on stdout")
	flags.StringVar(&f.readme, "readme", "", "file whose table between <!-- study --> and <!-- /study --> is rewritten")
	return c
}

func runStudy(cmd *cobra.Command, f studyFlags) error {
	cells, scenes, err := f.cells()
	if err != nil {
		return err
	}
	if err := f.ready(); err != nil {
		return err
	}
	signal.Ignore(syscall.SIGHUP)
	judges := studyJudges(f.early)
	kept, err := f.keeper()
	if err != nil {
		return err
	}
	tallies, err := tryBenches(cmd.Context(), cmd.ErrOrStderr(), f.benches, func(bench int) ([][]study.Tally, error) {
		return kept.bench(bench, func() [][]study.Tally {
			return study.Bench(cells, judges, f.simulate(scenes), bench, f.tests)
		})
	})
	if err != nil {
		return err
	}
	out := studied{flags: f, cells: cells, result: study.Summarise(cells, judges, tallies)}
	if err := out.write(cmd.OutOrStdout()); err != nil {
		return err
	}
	return kept.forget()
}

// studyJudges are all that are tried; none judges early where early is 0.
func studyJudges(early int) []study.Judge {
	out := []study.Judge{study.Assessed()}
	if early > 0 {
		j := study.Early(studyLooks)
		j.Tests = early
		out = append(out, j)
	}
	return append(out, study.LeastSquares(true), study.LeastSquares(false), study.TwoPoints())
}

func (f studyFlags) simulate(scenes map[string]simbench.Scene) study.Simulate {
	return func(c study.Cell, bench, test int) study.Trial {
		s := scenes[c.Scene.Name]
		tried := s.Try(c.Leak, f.seed, bench, test)
		return study.Trial{
			Hold: studyHold(s, tried), DecayRate: tried.DecayRate, LeakRate: tried.LeakRate,
			Until: func(share float64) (decay, leak float64) { return tried.Until(tried.Start() + share*tried.Hold) },
		}
	}
}

// cells are those that were asked for.
func (f studyFlags) cells() ([]study.Cell, map[string]simbench.Scene, error) {
	if err := f.check(); err != nil {
		return nil, nil, err
	}
	byName := map[string]simbench.Scene{}
	for _, s := range simbench.Scenes {
		byName[s.Name] = s
	}
	leaks, wanted := f.leaks, f.scenes
	if len(leaks) == 0 {
		leaks = study.Leaks
	}
	if len(wanted) == 0 {
		wanted = sceneNames()
	}
	var cells []study.Cell
	for _, name := range wanted {
		s, ok := byName[name]
		if !ok {
			return nil, nil, &strict.Error{Field: "--scene", Found: strict.Quote(name), Want: "one of " + strings.Join(sceneNames(), ", ")}
		}
		for _, leak := range leaks {
			cells = append(cells, study.Cell{Scene: studyScene(s), Leak: leak})
		}
	}
	return cells, byName, nil
}

func (f studyFlags) check() error {
	switch {
	case f.resume && f.out == "":
		return &strict.Error{Field: "--resume", Found: "no --out", Want: "the folder of the interrupted study"}
	case f.benches < 2:
		return &strict.Error{Field: "--benches", Found: fmt.Sprint(f.benches), Want: "2 or more: the standard errors are those between benches"}
	case f.tests < 1:
		return &strict.Error{Field: "--tests", Found: fmt.Sprint(f.tests), Want: "1 or more"}
	case f.early < 0 || f.early > f.tests:
		return &strict.Error{Field: "--early-tests", Found: fmt.Sprint(f.early), Want: fmt.Sprintf("0 to %d, the number of tests", f.tests)}
	}
	for _, leak := range f.leaks {
		if !(leak >= 0 && leak <= 10) || math.IsNaN(leak) {
			return &strict.Error{Field: "--leak", Found: fmt.Sprint(leak), Want: "0 to 10, in limits"}
		}
	}
	return nil
}

// tryBenches tries all benches on all cores; the answer is by bench, so that
// it is the same on any number of them.
func tryBenches(ctx context.Context, progress io.Writer, benches int, try func(bench int) ([][]study.Tally, error)) ([][][]study.Tally, error) {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	out := make([][][]study.Tally, benches)
	var next, done atomic.Int64
	var all sync.WaitGroup
	var line sync.Mutex
	begun := time.Now()
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for ctx.Err() == nil {
				bench := int(next.Add(1)) - 1
				if bench >= benches {
					return
				}
				tallies, err := try(bench)
				if err != nil {
					stop(err)
					return
				}
				out[bench] = tallies
				line.Lock()
				if n := int(done.Add(1)); n%10 == 0 || n == benches {
					fmt.Fprintf(progress, "%d of %d benches, %s\n", n, benches, time.Since(begun).Round(time.Second))
				}
				line.Unlock()
			}
		})
	}
	all.Wait()
	return out, context.Cause(ctx)
}
