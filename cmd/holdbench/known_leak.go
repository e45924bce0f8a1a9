package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
	"holdbench/daq/strict"
	"holdbench/report/result"
)

// challengeFlags make a run a challenge: a known leak on top of the unit's own.
type challengeFlags struct {
	known, own, ownRecording, code, circuit string
}

func (f *challengeFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.known, "known-leak", "", `make this a challenge of the bench: the leak imposed on top of the unit's own, e.g. "0.20 ± 0.01 bar/min" or "0.02 ± 0.001 mL/min" (± standard uncertainty)`)
	flags.StringVar(&f.own, "own-leak", "", `challenge: the unit's own leak, likewise`)
	flags.StringVar(&f.ownRecording, "own-recording", "", "challenge: a recording of the same unit without the known leak, which gives its own")
	flags.StringVar(&f.code, "challenge-code", "", "challenge: the code under which the leak stands on its list; who types --known-leak knows the leak, so for a run whose operator is not to know it let somebody else start it")
	flags.StringVar(&f.circuit, "challenge-circuit", "", "challenge: the circuit that the leak is on; needed where the procedure tests several")
}

// challenge reads the flags; nil where the run is none.
func (f *challengeFlags) challenge(p *procedure.Procedure) (*record.Challenge, error) {
	var faults []error
	missing := func(flag, want string) {
		faults = append(faults, &strict.Error{Field: flag, Found: "nothing", Want: want})
	}
	if f.known == "" {
		for _, other := range []struct{ flag, value string }{
			{"--own-leak", f.own}, {"--own-recording", f.ownRecording}, {"--challenge-code", f.code}, {"--challenge-circuit", f.circuit},
		} {
			if other.value != "" {
				faults = append(faults, &strict.Error{Field: other.flag, Found: strict.Quote(other.value), Want: "this only beside --known-leak"})
			}
		}
		return nil, errors.Join(faults...)
	}
	c := &record.Challenge{Code: f.code, Circuit: f.circuit}
	if f.code == "" {
		missing("--challenge-code", "the code under which the known leak stands on its list")
	}
	limit, ok := result.ChallengeLimit(p.Limits)
	if !ok {
		faults = append(faults, &strict.Error{File: p.Path, Field: "limit", Found: "no max limit on a rate or a flow", Want: "one that a known leak can be held against"})
	}
	switch {
	case c.Circuit == "" && len(p.Circuits) == 1:
		c.Circuit = p.Circuits[0]
	case !slices.Contains(p.Circuits, c.Circuit):
		faults = append(faults, &strict.Error{Field: "--challenge-circuit", Found: quotedOrNothing(f.circuit), Want: "one of " + strings.Join(p.Circuits, ", ")})
	}
	var err error
	if c.Known, err = parseLeak("--known-leak", f.known); err != nil {
		faults = append(faults, err)
	} else if !(c.Known.Value > 0) {
		faults = append(faults, &strict.Error{Field: "--known-leak", Found: strict.Quote(f.known), Want: "a leak above zero"})
	}
	switch {
	case f.own != "" && f.ownRecording != "":
		faults = append(faults, &strict.Error{Field: "--own-recording", Found: f.ownRecording, Want: "only one of --own-leak and --own-recording"})
	case f.own != "":
		if c.Own, err = parseLeak("--own-leak", f.own); err != nil {
			faults = append(faults, err)
		}
	case f.ownRecording != "":
		if c.Own, err = ownLeak(f.ownRecording, c.Circuit, limit.Quantity); err != nil {
			faults = append(faults, err)
		}
	default:
		missing("--own-leak", "the unit's own leak, or --own-recording with a recording that measured it")
	}
	return c, errors.Join(faults...)
}

func quotedOrNothing(text string) string {
	if text == "" {
		return "nothing"
	}
	return strict.Quote(text)
}

// parseLeak reads a leak as a pressure rate or a volume flow.
func parseLeak(flag, text string) (record.Leak, error) {
	for _, q := range []si.Quantity{si.PressureRate, si.VolumeFlow} {
		if value, u, err := si.ParseUncertain(text, q); err == nil && !math.IsInf(value, 0) && !math.IsInf(u, 0) {
			return record.Leak{Value: value, U: u, Quantity: q, Written: text}, nil
		}
	}
	return record.Leak{}, &strict.Error{Field: flag, Found: strict.Quote(text), Want: `a pressure rate or a volume flow with its standard uncertainty, e.g. "0.20 ± 0.01 bar/min" or "0.02 ± 0.001 mL/min"`}
}

// ownLeak takes a unit's own leak from a recording of it.
func ownLeak(folder, circuit, quantity string) (record.Leak, error) {
	bad := func(found string) error {
		return &strict.Error{Field: "--own-recording", Found: folder + ": " + found, Want: "a recording that measured the unit's own " + quantity + " at circuit " + circuit}
	}
	rec, err := openRecording(folder)
	if err != nil {
		return record.Leak{}, err
	}
	r, _, _, err := result.Assess(rec, options(reassessment))
	if err != nil {
		return record.Leak{}, err
	}
	if r.Challenge != nil {
		return record.Leak{}, bad("a challenge")
	}
	for _, c := range r.Circuits {
		if c.Name != circuit || len(c.Tests) == 0 {
			continue
		}
		e, row := c.Tests[0].Estimates[quantity], rowOf(quantity)
		if !c.Tests[0].Valid || e.Value == nil || e.U == nil {
			return record.Leak{}, bad(quantity + " is not known (" + strings.Join(append([]string{e.Reason}, c.Tests[0].Reasons...), "; ") + ")")
		}
		return record.Leak{Value: *e.Value, U: *e.U, Quantity: row.Quantity,
			Written: estimateText(e, row.Quantity, si.DefaultDisplay), Source: "recording " + rec.Meta.RunID}, nil
	}
	return record.Leak{}, bad("no such circuit")
}

func rowOf(quantity string) verdict.QuantityRow {
	row, _ := verdict.Lookup(quantity)
	return row
}

// warnUnchallenged says before a test that the bench was not held to a known
// leak as the procedure asks, or refuses the test when the procedure says so.
// It looks at the recordings in the folder.
func warnUnchallenged(w io.Writer, b *bench.Bench, p *procedure.Procedure, folder string, now time.Time) error {
	if p.ChallengeEvery == 0 {
		return nil
	}
	found, err := lastChallenge(folder, b.Name, now)
	if err != nil {
		return err
	}
	text := "no known-leak challenge of bench " + b.Name
	switch {
	case found == nil:
	case found.Challenge.Outcome != "passed":
		text = fmt.Sprintf("challenge %s of %s: %s", found.Challenge.Code, found.Ended.Local().Format("2006-01-02 15:04"), found.Challenge.Outcome)
	case now.Sub(found.Ended) > p.ChallengeEvery:
		text = fmt.Sprintf("challenge %s passed on %s, %s ago", found.Challenge.Code, found.Ended.Local().Format("2006-01-02 15:04"), now.Sub(found.Ended).Round(time.Minute))
	default:
		return nil
	}
	fault := &strict.Error{File: p.Path, Field: "challenge_every", Found: text + " among the recordings in " + folder,
		Want: "the last one passed within " + p.ChallengeEvery.String() + " (holdbench run --known-leak …)"}
	if p.Unchallenged == "refuse" {
		return fault
	}
	fmt.Fprintln(w, "warning: "+fault.Error())
	return nil
}

// lastChallenge is the result of the latest challenge of a bench in a folder's
// recordings, none of the future; nil where there is none. What is no recording
// is passed over.
func lastChallenge(folder, bench string, now time.Time) (*result.Result, error) {
	folders, err := recordingsIn(folder)
	if err != nil {
		return nil, err
	}
	var last *result.Result
	for _, dir := range folders {
		rec, err := record.Open(dir)
		if err != nil || rec.Meta.Challenge == nil {
			continue
		}
		r, _, _, err := result.Assess(rec, options(reassessment))
		if err != nil || r.Challenge == nil || r.Bench.Name != bench || r.Ended.After(now) {
			continue
		}
		if last == nil || r.Ended.After(last.Ended) {
			last = r
		}
	}
	return last, nil
}

// recordingsIn are the recordings' folders in a folder, or the folder itself
// where it is one, by name.
func recordingsIn(folder string) ([]string, error) {
	is := func(dir string) bool {
		_, err := os.Stat(filepath.Join(dir, "datapackage.json"))
		return err == nil
	}
	if is(folder) {
		return []string{folder}, nil
	}
	if info, err := os.Stat(folder); err == nil && !info.IsDir() {
		return nil, &strict.Error{File: folder, Found: "a file", Want: "the folder of a recording, or one that holds some"}
	}
	entries, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fault(err)
	}
	var out []string
	for _, e := range entries {
		if dir := filepath.Join(folder, e.Name()); e.IsDir() && is(dir) {
			out = append(out, dir)
		}
	}
	return out, nil
}

// challengeText is what became of a challenge, for a terminal.
func challengeText(c *result.Challenge, bench string, d si.Display) string {
	var b strings.Builder
	fmt.Fprintf(&b, "CHALLENGE %s  bench %s, code %s, circuit %s", strings.ToUpper(c.Outcome), bench, c.Code, c.Circuit)
	if c.Quantity != "" {
		unit := d.Unit(rowOf(c.Quantity).Quantity)
		show := func(f result.ChallengeFigure) string {
			if f.Value == nil || f.U == nil {
				return "unknown"
			}
			u := *f.U / unit.Factor
			decimals := 3
			if u > 0 {
				decimals = si.Decimals(u)
			}
			return fmt.Sprintf("%s (u %s)", si.Format(unit.FromSI(*f.Value), decimals), si.Format(u, decimals))
		}
		fmt.Fprintf(&b, "\n  %s measured %s, expected %s: known %s, own %s %s", c.Quantity, show(c.Measured), show(c.Expected), show(c.Known), show(c.Own), unit.Symbol)
		if c.Allowed != nil && c.Limit != nil {
			fmt.Fprintf(&b, "\n  difference %s, allowed %s %s (a quarter of the limit)", show(c.Difference), si.Format(unit.FromSI(*c.Allowed), 3), unit.Symbol)
		}
	}
	for _, reason := range c.Reasons {
		fmt.Fprintf(&b, "\n  why: %s", reason)
	}
	b.WriteString("\n  This run judges the bench. The unit is not judged: a leak was imposed on it.")
	return b.String()
}
