package main

import (
	"errors"
	"fmt"
	"io"
	"time"

	"holdbench/analysis"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/strict"
	"holdbench/report/result"
)

// warnUnresolvable says before a test which limits it cannot decide reliably,
// or refuses the test when the procedure says so.
func warnUnresolvable(w io.Writer, b *bench.Bench, p *procedure.Procedure, position bench.Position) error {
	var faults []error
	for _, c := range position.Circuits {
		prospect, _ := result.Expected(b, p, c, time.Now())
		for _, l := range p.Limits {
			o, ok := prospect.Outlook(l)
			if !ok || o.Resolves {
				continue
			}
			faults = append(faults, &strict.Error{
				File: p.Path, Field: fmt.Sprintf("circuit %s: limit on %s", c.Name, l.Quantity), Found: l.Text(), Want: wantedOf(o),
			})
		}
	}
	if p.Unresolvable == "refuse" {
		return errors.Join(faults...)
	}
	for _, fault := range faults {
		fmt.Fprintln(w, "warning: "+fault.Error())
	}
	return nil
}

// wantedOf says what would be decided instead.
func wantedOf(o analysis.Outlook) string {
	if o.Absent != "" {
		return "a quantity that this bench can tell: " + o.Absent
	}
	return o.SmallestInWords() + ", which this hold can decide reliably on this bench; see holdbench plan"
}
