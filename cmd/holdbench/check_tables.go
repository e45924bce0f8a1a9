package main

import (
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/montanaflynn/stats"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
)

// printFindings writes what is wrong, the root first.
func printFindings(out io.Writer, findings []bench.Finding) {
	if len(findings) == 0 {
		fmt.Fprint(out, "everything answers as the bench file says\n\n")
		return
	}
	for i, f := range findings {
		head := "LOOK FIRST: "
		if i > 0 {
			head = "then: "
		}
		fmt.Fprintf(out, "%s%s\n", head, f.Look)
		for line := range strings.Lines(f.What) {
			fmt.Fprintf(out, "  seen: %s\n", strings.TrimSpace(line))
		}
		if f.Mend != "" {
			fmt.Fprintf(out, "  to mend it: %s\n", f.Mend)
		}
	}
	fmt.Fprintln(out)
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
		if ch.State {
			value, noise = describeState(tallies[i].values)
		}
		health := healthText(tallies[i].health)
		sound = sound && health == "ok"
		fmt.Fprintf(w, "%s\t%s\t%s\t%s /s\t%s\n", ch.Name, value, noise,
			si.Format(float64(len(tallies[i].values))/long.Seconds(), 1), health)
	}
	// The table goes to the terminal; a terminal that is gone has nobody to tell.
	_ = w.Flush()
	return sound
}

// printInstruments writes a row for each instrument.
func printInstruments(out io.Writer, b *bench.Bench, probes []bench.Probe, long time.Duration) {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nINSTRUMENT\tWHERE\tEVERY\tREACHED\tJITTER (1 SD)\tLATEST BY\tFAILED")
	var identities []string
	for _, in := range b.Instruments {
		i := slices.IndexFunc(probes, func(p bench.Probe) bool { return p.Instrument == in.Name })
		if i < 0 {
			continue
		}
		p := probes[i]
		where := in.Link
		if in.Address > 0 {
			where += fmt.Sprintf(", address %d", in.Address)
		}
		jitter := "–"
		if !math.IsNaN(p.Timing.Jitter) {
			jitter = si.Format(1e3*p.Timing.Jitter, 1) + " ms"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s /s\t%s\t%s ms\t%d\n", in.Name, where, in.Interval,
			si.Format(float64(len(p.Scans))/long.Seconds(), 1), jitter, si.Format(1e3*p.Timing.Latest.Seconds(), 1), p.Failed)
		if p.Identity != "" {
			identities = append(identities, fmt.Sprintf("instrument %s says that it is: %s\n", in.Name, p.Identity))
		}
	}
	_ = w.Flush()
	for _, line := range identities {
		fmt.Fprint(out, line)
	}
}

// printLines writes where the time of each line goes.
func printLines(out io.Writer, b *bench.Bench, w *watched) {
	for _, l := range b.Links {
		heard := w.ear.Line(l.Name)
		if len(heard.Frames) == 0 {
			continue
		}
		port := w.ports[l.Name]
		config := link.Config{Baud: l.Baud, DataBits: l.DataBits, Parity: l.Parity, StopBits: l.StopBits}
		sweep := discovery.Sweep{Character: config.CharacterTime(), Silent: config.SilentInterval()}
		for _, f := range heard.Frames {
			sweep.Frames = append(sweep.Frames, [2]int{f.Asked, f.Answered})
		}
		fmt.Fprintf(out, "\nlink %s: %s\n", l.Name, sweepText(sweep, w.probes, l.Name))
		costly := printDelays(out, b, l, heard, sweep.Character, port)
		if costly {
			fmt.Fprintf(out, "  to be quicker: %s\n", link.LowerLatency(runtime.GOOS, port))
		}
		if heard.Echoed > 0 {
			fmt.Fprintf(out, "  the adapter hears itself (%d of %d questions came back); that costs time and does no harm\n", heard.Echoed, heard.Asked)
		}
	}
}

// printDelays writes of each instrument on a link where its exchanges' time
// goes, and says whether the adapter takes too much of it.
func printDelays(out io.Writer, b *bench.Bench, l bench.Link, heard discovery.Heard, character time.Duration, port string) (costly bool) {
	timer, known := link.Latency(port)
	for _, in := range b.Instruments {
		if in.Link != l.Name {
			continue
		}
		own := heard.Exchanges
		if in.Kind == bench.ModbusRTU {
			own = slices.Clone(own)
			own = slices.DeleteFunc(own, func(e discovery.Exchange) bool { return int(e.Address) != in.Address })
		}
		if len(own) == 0 {
			continue
		}
		d := discovery.Part(own, character, timer, known)
		costly = costly || d.Costly()
		fmt.Fprintf(out, "  %s: %s\n", in.Name, d)
	}
	return costly
}

// sweepText says how often a link could be swept, and how often that is asked.
func sweepText(s discovery.Sweep, probes []bench.Probe, name string) string {
	n := len(s.Frames)
	questions := fmt.Sprintf("%d questions", n)
	if n == 1 {
		questions = "1 question"
	}
	if s.OnTheWire() == 0 {
		return "a sweep is " + questions + "; its line is behind a network, which sets the limit"
	}
	text := fmt.Sprintf("a sweep is %s, %s ms of characters and silence on the wire: at most %s sweeps/s",
		questions, si.Format(1e3*s.OnTheWire().Seconds(), 1), si.Format(s.AtMost(), 1))
	asked := 0.0
	for _, p := range probes {
		if p.Link == name && p.Timing.Nominal > 0 {
			asked = max(asked, 1/p.Timing.Nominal.Seconds())
		}
	}
	if asked > s.AtMost() {
		text += fmt.Sprintf("; the bench file asks for %s, which this baud cannot carry", si.Format(asked, 1))
	}
	return text
}

// printNotes writes what the bench file itself has left to be done.
func printNotes(out io.Writer, b *bench.Bench) {
	head := "\nstill to be done:\n"
	number := 0
	for line := range strings.Lines(b.Text) {
		number++
		if _, note, ok := strings.Cut(line, "TODO"); ok {
			fmt.Fprintf(out, "%s  %s:%d: %s\n", head, b.Path, number, strings.Trim(note, ": \n"))
			head = ""
		}
	}
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
