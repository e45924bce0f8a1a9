package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"text/tabwriter"
	"time"

	"github.com/montanaflynn/stats"
	"github.com/spf13/cobra"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/strict"
)

func checkCommand(code *int) *cobra.Command {
	var path, units, trace string
	var ports map[string]string
	var seconds float64
	cmd := &cobra.Command{
		Use:   "check --bench bench.toml",
		Short: "Open everything, read each channel for a few seconds, say what is wrong",
		Args:  noArguments,
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

// check reads the bench for a while and prints what each channel gave, then
// what is wrong with which instrument and how to mend it.
func check(cmd *cobra.Command, b *bench.Bench, options bench.WireOptions, display si.Display, long time.Duration, code *int) error {
	clock := daq.NewWallClock()
	options.Partial = true
	wiring, err := b.Wire(clock, options)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	fmt.Fprintf(out, "reading %s for %s …\n", b.Name, long)
	probes, err := wiring.Probe(cmd.Context(), clock, long)
	if err = errors.Join(err, wiring.Close()); err != nil {
		return fault(err)
	}
	sound := printChannels(out, wiring.Channels, probes, display, long)
	sound = printFaults(out, probes) && sound
	for _, ch := range b.Overdue(time.Now()) {
		sound = false
		fmt.Fprintf(out, "\nchannel %s: calibration was due on %s; no test is made with it\n", ch.Name, ch.Calibration.Due.Format("2006-01-02"))
	}
	if !sound {
		*code = exitBadInput
		fmt.Fprintln(cmd.ErrOrStderr(), "check: the bench is not in order, see above")
	}
	return nil
}

// tally is what one channel gave.
type tally struct {
	values []float64
	health map[daq.Health]int
}

// printChannels writes a row for each channel and says whether all are sound.
func printChannels(out io.Writer, channels []daq.Channel, probes []bench.Probe, display si.Display, long time.Duration) bool {
	tallies := make([]tally, len(channels))
	for i := range tallies {
		tallies[i].health = map[daq.Health]int{}
	}
	for _, p := range probes {
		for _, s := range p.Scans {
			for _, r := range s.Readings {
				t := &tallies[r.Channel]
				t.health[r.Health]++
				if r.Health == daq.Healthy {
					t.values = append(t.values, r.Value)
				}
			}
		}
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "CHANNEL\tVALUE\tNOISE (1 SD)\tRATE\tHEALTH")
	sound := true
	for i, ch := range channels {
		value, noise := describe(tallies[i].values, display.Unit(ch.Quantity))
		health := healthText(tallies[i].health)
		sound = sound && health == "ok"
		fmt.Fprintf(w, "%s\t%s\t%s\t%s /s\t%s\n", ch.Name, value, noise,
			si.Format(float64(len(tallies[i].values))/long.Seconds(), 1), health)
	}
	// The table goes to the terminal; a terminal that is gone has nobody to tell.
	_ = w.Flush()
	return sound
}

// printFaults writes what is wrong with each instrument and how to mend it,
// and says whether nothing is.
func printFaults(out io.Writer, probes []bench.Probe) bool {
	sound := true
	for _, p := range probes {
		if p.Err == nil {
			continue
		}
		if len(p.Scans) > 0 {
			fmt.Fprintf(out, "\ninstrument %s: answered %d times, failed %d times, last: %v\n", p.Instrument, len(p.Scans), p.Failed, p.Err)
		} else {
			sound = false
			fmt.Fprintf(out, "\ninstrument %s: %v\n", p.Instrument, p.Err)
		}
		if remedy := bench.Remedy(p.Err); remedy != "" {
			fmt.Fprintf(out, "  to mend it: %s\n", remedy)
		}
	}
	return sound
}

// describe gives mean and noise of a channel's readings in display units. The
// noise is the standard deviation of successive differences over √2, which a
// slow drift does not enlarge.
func describe(values []float64, unit si.Unit) (value, noise string) {
	mean, err := stats.Mean(values)
	if err != nil {
		return "–", "–"
	}
	differences := make([]float64, 0, len(values))
	for i := 1; i < len(values); i++ {
		differences = append(differences, values[i]-values[i-1])
	}
	sd, err := stats.StandardDeviationSample(differences)
	if err != nil || math.IsNaN(sd) {
		return fmt.Sprintf("%s %s", si.Format(unit.FromSI(mean), 3), unit.Symbol), "–"
	}
	sd /= math.Sqrt2 * unit.Factor
	decimals := 3
	if sd > 0 {
		decimals = si.Decimals(sd)
	}
	return fmt.Sprintf("%s %s", si.Format(unit.FromSI(mean), decimals), unit.Symbol), fmt.Sprintf("%s %s", si.Format(sd, decimals), unit.Symbol)
}

// healthText is "ok", or what came instead and how often.
func healthText(counts map[daq.Health]int) string {
	total, text := 0, ""
	for _, h := range daq.Healths {
		total += counts[h]
		if h != daq.Healthy && counts[h] > 0 {
			text += fmt.Sprintf(", %s %d×", h, counts[h])
		}
	}
	switch {
	case total == 0:
		return "no reading"
	case text == "":
		return "ok"
	}
	return text[2:]
}
