package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"sync"
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
	var path, units string
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
			return check(cmd, b, options, display, time.Duration(seconds*float64(time.Second)), code)
		},
	}
	cmd.Flags().StringVar(&path, "bench", "", "bench file (TOML)")
	cmd.Flags().Float64Var(&seconds, "seconds", 5, "how long to read")
	portsFlag(cmd, &ports)
	unitsFlag(cmd, &units)
	return cmd
}

// check reads the bench for a while and prints what each channel gave.
func check(cmd *cobra.Command, b *bench.Bench, options bench.WireOptions, display si.Display, long time.Duration, code *int) error {
	clock := daq.NewWallClock()
	options.Partial = true
	ctx, cancel := context.WithCancel(cmd.Context())
	defer cancel()
	scan, err := startScanning(ctx, b, clock, options)
	if err != nil {
		return err
	}
	seen := newTally(len(scan.wiring.Channels))
	scan.scanner.Subscribe(seen.scan)
	scan.scanner.OnEvent(seen.event)
	fmt.Fprintf(cmd.OutOrStdout(), "reading %s for %s …\n", b.Name, long)
	err = errors.Join(clock.Sleep(ctx, clock.Now()+long), scan.stop())
	if err != nil {
		return fault(err)
	}
	for _, in := range b.Instruments {
		if scan.wiring.Faults[in.Link] != nil {
			seen.said[in.Name] = "link " + in.Link + " did not open, see below"
		}
	}
	sound := seen.print(cmd.OutOrStdout(), scan.wiring.Channels, display, long)
	troubles := seen.troubles
	for _, name := range slices.Sorted(maps.Keys(scan.wiring.Faults)) {
		troubles = append(troubles, scan.wiring.Faults[name].Error())
		fmt.Fprintf(cmd.OutOrStdout(), "\nlink %s: %v\n  to mend it: %s\n", name, scan.wiring.Faults[name], bench.Remedy(scan.wiring.Faults[name]))
	}
	for _, d := range b.Overdue(time.Now()) {
		troubles = append(troubles, d.Name)
		fmt.Fprintf(cmd.OutOrStdout(), "\nchannel %s: calibration was due on %s; no test is made with it\n", d.Name, d.Calibration.Due.Format("2006-01-02"))
	}
	if !sound || len(troubles) > 0 {
		*code = exitBadInput
		fmt.Fprintln(cmd.ErrOrStderr(), "check: the bench is not in order, see above")
	}
	return nil
}

// tally collects what a check read.
type tally struct {
	mu       sync.Mutex
	values   [][]float64
	health   []map[daq.Health]int
	troubles []string
	said     map[string]string
}

func newTally(channels int) *tally {
	t := &tally{values: make([][]float64, channels), said: map[string]string{}}
	for range channels {
		t.health = append(t.health, map[daq.Health]int{})
	}
	return t
}

func (t *tally) scan(s daq.Scan) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, r := range s.Readings {
		t.health[r.Channel][r.Health]++
		if r.Health == daq.Healthy {
			t.values[r.Channel] = append(t.values[r.Channel], r.Value)
		}
	}
	return nil
}

func (t *tally) event(e daq.Event) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if e.Kind == daq.Gap || e.Kind == daq.Fault {
		t.said[e.Subject] = e.Text
	}
}

// print writes a row for each channel and says whether all of them are sound.
func (t *tally) print(out io.Writer, channels []daq.Channel, display si.Display, long time.Duration) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "CHANNEL\tVALUE\tNOISE (1 SD)\tRATE\tHEALTH")
	sound := true
	for i, ch := range channels {
		value, noise := describe(t.values[i], display.Unit(ch.Quantity))
		health := healthText(t.health[i])
		if said := t.said[ch.Instrument]; health == "no reading" && said != "" {
			health += ": " + said
		}
		sound = sound && health == "ok"
		fmt.Fprintf(w, "%s\t%s\t%s\t%s /s\t%s\n", ch.Name, value, noise,
			si.Format(float64(len(t.values[i]))/long.Seconds(), 1), health)
	}
	// The table goes to the terminal; a terminal that is gone has nobody to tell.
	_ = w.Flush()
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
	for _, h := range []daq.Health{daq.Healthy, daq.Missing, daq.UnderRange, daq.OverRange, daq.Invalid} {
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
