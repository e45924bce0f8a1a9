package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/strict"
	"holdbench/report"
)

// characteriseFlags are what characterise may be told.
type characteriseFlags struct {
	styleFlags
	bench, model, circuit, fluid, pressureRange, expiry, write string
	window, thermalCoefficient, lag, volume                    string
	steps                                                      []string
	pdf, png                                                   string
}

func characteriseCommand(code *int) *cobra.Command {
	var f characteriseFlags
	var names []string
	for _, k := range characterisationKinds {
		names = append(names, k.name)
	}
	cmd := &cobra.Command{
		Use:   "characterise " + strings.Join(names, "|") + " RECORDING…",
		Short: "Find a bench's own figures from runs made for them, for the characterisation file",
		Long: `characterise takes figures of bench, model and circuit out of recordings made for them:

  thermal    thermal coefficient and lag, from a run with a reference unit while the
             temperature goes up and down, each way for five lags at least and more than
             once: for a lag of 40 s some tenths of a kelvin in 4 min or more each way. A
             temperature moved more quickly gives a wide figure, or none. The lag is what
             a steady slope shows: the liquid's less the probe's own
  stiffness  pressure per volume, from known volume steps (--step, or notes typed in
             the run: note step 0.10 ± 0.002 mL), each left to relax
  settling   settling that ends and creep that slows, from a blank or reference run
  blank      noise, its autocorrelation and drift of the bench alone, plugged, and its
             thermal coefficient where the temperature moved. Drift is a loss, above 0
             where the pressure falls

Several runs combine, each named once. With --pressure-range and --expiry what they
give is printed as a [[characterisation]] block, which needs both;
--write adds it to a characterisation file and leaves what stands there as it is.

` + "In a ± b, b is the standard uncertainty (k = 1); in the table ± covers 95 %.\n\n" + `Exit code: 0 when there is a figure, 11 when the runs cannot tell, 3 bad input.`,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0 || !slices.Contains(names, args[0]):
				found := "nothing"
				if len(args) > 0 {
					found = strict.Quote(args[0])
				}
				return fmt.Errorf("characterise: found %s, want one of %s", found, strings.Join(names, ", "))
			case len(args) == 1:
				return errors.New("characterise: found no recording, want folders of recordings")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return f.characterise(cmd, args, code) },
	}
	f.styleFlags.add(cmd)
	flags := cmd.Flags()
	flags.StringVar(&f.bench, "bench", "", "bench file whose bench this must be, and whose characterisation is taken as known; the recording's own when not given")
	flags.StringVar(&f.model, "model", "", "model that the block is for; the recording's when not given")
	flags.StringVar(&f.circuit, "circuit", "", "circuit, a or b; needed where the procedure tests both")
	flags.StringVar(&f.fluid, "fluid", "", "fluid that the block is for; the procedure's when not given")
	flags.StringVar(&f.pressureRange, "pressure-range", "", `gauge pressures that the block is for, e.g. "80 bar..120 bar"; no block without it`)
	flags.StringVar(&f.expiry, "expiry", "", "day on which the figures expire, e.g. 2027-03-14; no block without it")
	flags.StringVar(&f.write, "write", "", "add the block to this characterisation file; made where there is none")
	flags.StringVar(&f.window, "window", "", "the run's window instead of its hold, s since the recording's start, e.g. 60s..3600s; an open end is the recording's own")
	flags.StringVar(&f.thermalCoefficient, "thermal-coefficient", "", `settling, stiffness, blank: known, e.g. "4.5 ± 0.2 bar/K"`)
	flags.StringVar(&f.lag, "lag", "", `settling, stiffness, blank: known, e.g. "40 ± 8 s"`)
	flags.StringArrayVar(&f.steps, "step", nil, "stiffness: a known `VOLUME` put in, in the order of the steps, e.g. \"0.10 ± 0.002 mL\" (negative: taken out); may be given again")
	flags.Lookup("step").DefValue = "[]" // which help takes for none
	flags.StringVar(&f.volume, "volume", "", `stiffness: volume of the trapped liquid, e.g. "50 mL", to tell trapped air`)
	flags.StringVar(&f.pdf, "pdf", "", "draw the page as PDF to a file")
	flags.StringVar(&f.png, "png", "", "draw its first page as PNG to a file")
	return cmd
}

func (f *characteriseFlags) characterise(cmd *cobra.Command, args []string, code *int) error {
	shown, err := f.parse()
	if err != nil {
		return err
	}
	kind := characterisationKinds[slices.IndexFunc(characterisationKinds, func(k characterisationKind) bool { return k.name == args[0] })]
	if err := f.strangers(cmd, kind.name); err != nil {
		return err
	}
	s, err := f.characterised(args[1:])
	if err != nil {
		return err
	}
	for _, text := range s.warnings {
		fmt.Fprintln(cmd.ErrOrStderr(), "warning: "+text)
	}
	found, err := kind.run(s)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	for _, why := range found.refused {
		fmt.Fprintln(cmd.ErrOrStderr(), "cannot tell: "+why)
	}
	if len(found.rows) == 0 {
		*code = exitInconclusive
		return nil
	}
	printFigures(out, kind, s, found, shown.Display)
	block := s.block(kind, found)
	if missing := s.missing(); missing != "" {
		fmt.Fprintf(out, "\nno [[characterisation]] block: it needs %s as well\n", missing)
	} else {
		fmt.Fprintf(out, "\n%s", block)
	}
	if f.write != "" {
		if err := addBlock(f.write, block, s.bench); err != nil {
			return err
		}
		fmt.Fprintln(out, "\nadded to "+f.write)
	}
	return drawDocument(cmd.ErrOrStderr(), report.CharacterisationDocument(s.facts(kind, found, shown)), f.pdf, f.png)
}

// kindsOf are the flags that only some kinds know.
var kindsOf = map[string][]string{
	"step": {"stiffness"}, "volume": {"stiffness"},
	"thermal-coefficient": {"stiffness", "settling", "blank"}, "lag": {"stiffness", "settling", "blank"},
}

// strangers refuses flags that the kind does nothing with.
func (f *characteriseFlags) strangers(cmd *cobra.Command, kind string) error {
	var faults []error
	cmd.Flags().Visit(func(flag *pflag.Flag) {
		if kinds, some := kindsOf[flag.Name]; some && !slices.Contains(kinds, kind) {
			found := flag.Value.String()
			if flag.Name == "step" {
				found = strings.Join(f.steps, ", ")
			}
			faults = append(faults, &strict.Error{Field: "--" + flag.Name, Found: strict.Quote(found), Want: "this only with characterise " + strings.Join(kinds, ", ")})
		}
	})
	return errors.Join(faults...)
}

func printFigures(out io.Writer, kind characterisationKind, s *characterised, found findings, d si.Display) {
	fmt.Fprintf(out, "%s of model %s, circuit %s, on bench %s\n\n", kind.title, s.model, s.circuit, s.bench.Name)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, row := range found.rows {
		fmt.Fprintf(w, "  %s\t%s\t%s\n", row.name, row.text(d), row.note)
	}
	// A screen that cannot be written has nobody to tell.
	_ = w.Flush()
	for _, note := range found.notes {
		fmt.Fprintln(out, "  "+note)
	}
}

// pressureRange reads "80 bar..120 bar" or "80..120 bar".
func parsePressureRange(text string) (low, high float64, err error) {
	from, to, ok := strings.Cut(text, "..")
	from, to = strings.TrimSpace(from), strings.TrimSpace(to)
	if ok {
		low, err = si.Parse(from, si.Pressure)
		if _, unit, has := strings.Cut(to, " "); err != nil && has {
			low, err = si.Parse(from+" "+unit, si.Pressure)
		}
		var err2 error
		high, err2 = si.Parse(to, si.Pressure)
		err = errors.Join(err, err2)
	}
	if !ok || err != nil || !(low < high) {
		return 0, 0, &strict.Error{Field: "--pressure-range", Found: quotedOrNothing(text), Want: `two gauge pressures, the lower one first, e.g. "80 bar..120 bar"`}
	}
	return low, high, nil
}

func parseDay(flag, text string) (time.Time, error) {
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return day, &strict.Error{Field: flag, Found: quotedOrNothing(text), Want: "a day, e.g. 2027-03-14"}
	}
	return day, nil
}

// parseRunWindow reads FROM..TO in seconds; an open end is NaN.
func parseRunWindow(text string) (from, to float64, err error) {
	a, b, ok := strings.Cut(text, "..")
	end := func(text string) float64 {
		if strings.TrimSpace(text) == "" {
			return math.NaN()
		}
		v, e := si.Parse(text, si.Time)
		if e != nil || !(v >= 0) {
			ok = false
		}
		return v
	}
	from, to = end(a), end(b)
	if !ok || from >= to {
		return 0, 0, &strict.Error{Field: "--window", Found: strict.Quote(text), Want: "FROM..TO in seconds since the recording's start, e.g. 60s..3600s"}
	}
	return from, to, nil
}

// known is the characterisation that a bench file brings.
func loadBench(path string) (*bench.Bench, error) {
	if path == "" {
		return nil, nil
	}
	return bench.Load(path)
}
