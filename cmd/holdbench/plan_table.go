package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/daq/strict"
	"holdbench/report"
	"holdbench/report/result"
)

// plan is a plan with the prior of its units, as written; empty without.
type plan struct {
	report.Plan
	prior string
	// basis says for each circuit where what was reckoned with comes from;
	// looks are those of the hold, nil without.
	basis []result.Basis
	looks *analysis.Looks
}

// among is what becomes of the units of the prior under a limit; ok is false
// without a prior, or where it is none of the limit's loss.
func (p plan) among(l analysis.Planned) (g verdict.GlobalRisk, ok bool) {
	if p.prior == "" || l.Absent != "" {
		return g, false
	}
	_, q := l.Loss(1)
	mean, spread, err := si.ParseUncertain(p.prior, q)
	if err != nil || !(mean > 0) || !(spread > 0) {
		return g, false
	}
	return l.Among(verdict.Losses(mean, spread)), true
}

// priorInWords says what becomes of the units of the prior; empty without.
func (p plan) priorInWords(l analysis.Planned) string {
	g, ok := p.among(l)
	if !ok {
		return ""
	}
	unit, losses := p.unit(l), strings.TrimSpace(p.prior)
	if _, q := l.Loss(1); !strings.HasSuffix(losses, unit.Symbol) {
		mean, spread, _ := si.ParseUncertain(p.prior, q) // among has read it
		losses = report.Figures(mean/unit.Factor, 3) + " ± " + report.Figures(spread/unit.Factor, 3) + " " + unit.Symbol
	}
	return fmt.Sprintf("of units with losses of %s: %s break the limit; %s of all PASS wrongly, %s FAIL wrongly, %s are INCONCLUSIVE%s",
		losses, report.PerCent(g.NotConforming), fineCent(g.Consumer), fineCent(g.Producer), report.PerCent(g.Inconclusive), p.priorWhen(l))
}

// priorWhen: shares of a prior are those at the hold's own end.
func (p plan) priorWhen(l analysis.Planned) string {
	if l.Looks == nil {
		return ""
	}
	return ", at the hold's own end, without looks"
}

// checkPrior refuses a prior that is of none of the limits.
func (p plan) checkPrior() error {
	if p.prior == "" {
		return nil
	}
	for _, c := range p.Circuits {
		for _, l := range c.Limits {
			_, q := l.Loss(1)
			if mean, spread, err := si.ParseUncertain(p.prior, q); err == nil && mean > 0 && spread > 0 {
				return nil
			}
		}
	}
	return &strict.Error{Field: "--prior", Found: strict.Quote(p.prior), Want: `mean ± standard deviation of a limited loss, both above 0, e.g. "0.05 ± 0.03 bar/min"`}
}

// print writes the plan as tables.
func (p plan) print(out io.Writer) {
	fmt.Fprintf(out, "plan: %s on bench %s, position %s\n", p.Procedure, p.Bench, p.Position)
	if p.Note != "" {
		fmt.Fprintln(out, p.Note)
	}
	for _, c := range p.Circuits {
		fmt.Fprintf(out, "\ncircuit %s: a hold of %g s\n", c.Name, c.Prospect.Duration)
		for _, text := range c.Expected {
			fmt.Fprintln(out, "  "+text)
		}
		for _, l := range c.Limits {
			fmt.Fprintln(out)
			p.printLimit(out, l)
		}
	}
}

func (p plan) unit(l analysis.Planned) si.Unit {
	_, q := l.Loss(1)
	if q == si.Dimensionless {
		return si.Unit{Symbol: "1/h", Factor: 1.0 / 3600}
	}
	return p.Display.Unit(q)
}

func (p plan) printLimit(out io.Writer, l analysis.Planned) {
	fmt.Fprintf(out, "  %s %s %s: ", l.Limit.Quantity, l.Limit.Bound, report.LimitText(l.Limit, p.Display))
	switch {
	case l.Absent != "":
		fmt.Fprintf(out, "INCONCLUSIVE to be expected: %s\n", l.Absent)
		return
	case l.Resolves:
		fmt.Fprintf(out, "decided reliably (%s would be)\n", l.SmallestInWords(p.Display))
	default:
		fmt.Fprintf(out, "NOT decided reliably; %s would be\n", l.SmallestInWords(p.Display))
	}
	unit := p.unit(l)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "    SOURCE\tU (k = 1)\tSHARE OF U²\n")
	for _, line := range l.Budget {
		share := line.StdUncertainty / l.StdUncertainty
		fmt.Fprintf(w, "    %s\t%s %s\t%s\n", line.Source, report.Beside(line.StdUncertainty, l.StdUncertainty, unit), unit.Symbol, report.PerCent(share*share))
	}
	fmt.Fprintf(w, "    combined\t%s %s\t\n", report.Figures(l.StdUncertainty/unit.Factor, 2), unit.Symbol)
	if l.Decides() {
		fmt.Fprintf(w, "    %s\t%s %s\t\n", report.SmallestLimit(l), report.Figures(l.Smallest/unit.Factor, 2), unit.Symbol)
	}
	fmt.Fprintf(w, "    \t\t\n    TRUE LOSS\tOF LIMIT\tPASS\tINCONCLUSIVE\tFAIL\tMEAN HOLD\n")
	for _, s := range l.Units {
		x, _ := l.Loss(s.Multiple)
		fmt.Fprintf(w, "    %s %s\t%.2f\t%s\t%s\t%s\t%.0f s\n", report.Figures(x/unit.Factor, 3), unit.Symbol, s.Multiple,
			report.PerCent(s.Pass), report.PerCent(s.Inconclusive), report.PerCent(s.Fail), s.Mean)
	}
	// The table goes to the terminal; a terminal that is gone has nobody to tell.
	_ = w.Flush()
	for _, text := range slices.Concat(report.HoldTimesInWords(l), report.LooksInWords(l)) {
		fmt.Fprintln(out, "    "+text)
	}
	if text := p.priorInWords(l); text != "" {
		fmt.Fprintln(out, "    "+text)
	}
}

// fineCent is PerCent with three decimals, for small risks.
func fineCent(share float64) string { return si.Format(100*share, 3) + " %" }
