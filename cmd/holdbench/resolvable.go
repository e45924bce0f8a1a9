package main

import (
	"errors"
	"fmt"
	"io"
	"time"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/strict"
	"holdbench/report"
	"holdbench/report/result"
)

// warnUnresolvable says before a test which limits it cannot decide reliably,
// or refuses the test when the procedure says so. A refusal does not rest on a
// swing of the temperature that nobody stated: then only what the hold could not
// decide at a steady temperature either is refused, the rest warned of.
func warnUnresolvable(w io.Writer, b *bench.Bench, p *procedure.Procedure, position bench.Position) error {
	var refused []error
	for _, c := range position.Circuits {
		prospect, from := result.Expected(b, p, c, time.Now())
		steady := prospect
		steady.TemperatureChange, steady.Swing = 0, 0
		for _, l := range p.Limits {
			o, ok := prospect.Outlook(l)
			if !ok || o.Resolves {
				continue
			}
			still, _ := steady.Outlook(l)
			rests := from.SwingAssumed && still.Resolves
			text := unresolvable(o, prospect, from)
			if p.Unresolvable == "refuse" && !rests {
				refused = append(refused, &strict.Error{
					File: p.Path, Field: "circuit " + c.Name, Found: text,
					Want: `another limit, hold or bench, or unresolvable = "warn"; see holdbench plan`,
				})
				continue
			}
			if p.Unresolvable == "refuse" {
				text += "; not refused, because that rests on the assumption"
			}
			fmt.Fprintf(w, "warning: %s: circuit %s: %s; see holdbench plan\n", p.Path, c.Name, text)
		}
	}
	return errors.Join(refused...)
}

// unresolvable says what this hold decides, what the limit is, and whether that
// rests on an assumption.
func unresolvable(o analysis.Outlook, p analysis.Prospect, from result.Basis) string {
	limit := fmt.Sprintf("the limit on %s is %s", o.Limit.Quantity, o.Limit.Text())
	hold := "this " + report.Seconds(p.Duration) + " hold"
	var text string
	switch {
	case o.Absent != "":
		return limit + "; INCONCLUSIVE is to be expected: " + o.Absent
	case o.Decides():
		text = hold + " decides reliably " + o.SmallestInWords(si.DefaultDisplay) + "; " + limit
	default:
		text = hold + " decides no limit on " + o.Limit.Quantity + " reliably; " + limit
	}
	if from.SwingAssumed && !p.NoTemperature {
		text += fmt.Sprintf(" (assumed: the temperature changes by %g K; temperature_swing in the procedure states it)", p.Swing)
	}
	return text
}
