package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/daq/strict"
	"holdbench/report"
)

// plan is a plan with the prior of its units, as written; empty without.
type plan struct {
	report.Plan
	prior string
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
	fmt.Fprintf(out, "  %s %s %s: ", l.Limit.Quantity, l.Limit.Bound, l.Limit.Text())
	switch {
	case l.Absent != "":
		fmt.Fprintf(out, "INCONCLUSIVE to be expected: %s\n", l.Absent)
		return
	case l.Resolves:
		fmt.Fprintf(out, "decided reliably (%s would be)\n", l.SmallestInWords())
	default:
		fmt.Fprintf(out, "NOT decided reliably; %s would be\n", l.SmallestInWords())
	}
	unit := p.unit(l)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "    SOURCE\tU (k = 1)\tSHARE OF U²\n")
	for _, line := range l.Budget {
		share := line.StdUncertainty / l.StdUncertainty
		fmt.Fprintf(w, "    %s\t%s %s\t%s\n", line.Source, report.Beside(line.StdUncertainty, l.StdUncertainty, unit), unit.Symbol, report.PerCent(share*share))
	}
	fmt.Fprintf(w, "    combined, × %.1f\t%s %s\t\n", l.Factor, report.Figures(l.StdUncertainty/unit.Factor, 2), unit.Symbol)
	fmt.Fprintf(w, "    \t\t\n    TRUE LOSS\tOF LIMIT\tPASS\tINCONCLUSIVE\tFAIL\tMEAN HOLD\n")
	for _, s := range l.Units {
		x, _ := l.Loss(s.Multiple)
		fmt.Fprintf(w, "    %s %s\t%.2f\t%s\t%s\t%s\t%.0f s\n", report.Figures(x/unit.Factor, 3), unit.Symbol, s.Multiple,
			report.PerCent(s.Pass), report.PerCent(s.Inconclusive), report.PerCent(s.Fail), s.Mean)
	}
	// The table goes to the terminal; a terminal that is gone has nobody to tell.
	_ = w.Flush()
	for _, text := range report.HoldTimesInWords(l) {
		fmt.Fprintln(out, "    "+text)
	}
	if l.Looks != nil {
		fmt.Fprintf(out, "    with %d looks, %s: a unit without loss is decided after %.0f %% of the hold on average\n",
			len(l.Looks.Plan), l.Looks.Spending, 100*l.Units[0].Mean/l.Looks.Hold)
	}
	if g, ok := p.among(l); ok {
		fmt.Fprintf(out, "    of units with losses of %s: %s break the limit; %s of all PASS wrongly, %s FAIL wrongly, %s are INCONCLUSIVE\n",
			strings.TrimSpace(p.prior), report.PerCent(g.NotConforming), fineCent(g.Consumer), fineCent(g.Producer), report.PerCent(g.Inconclusive))
	}
}

// fineCent is PerCent with three decimals, for small risks.
func fineCent(share float64) string { return si.Format(100*share, 3) + " %" }

// The plan as JSON; SI throughout, null where there is no figure.
type planJSON struct {
	Format    string        `json:"format"`
	Version   int           `json:"version"`
	Procedure string        `json:"procedure"`
	Bench     string        `json:"bench"`
	Position  string        `json:"position"`
	Limits    []plannedJSON `json:"limits"`
}

type plannedJSON struct {
	Circuit  string  `json:"circuit"`
	Quantity string  `json:"quantity"`
	Bound    string  `json:"bound"`
	Value    float64 `json:"value"`
	Unit     string  `json:"unit"`
	// LossUnit is the SI unit of the losses below.
	LossUnit string   `json:"loss_unit"`
	Absent   string   `json:"absent,omitempty"`
	Resolves bool     `json:"resolves"`
	Smallest *float64 `json:"smallest"`
	U        *float64 `json:"u"`
	DOF      *float64 `json:"dof"`
	Factor   *float64 `json:"factor"`
	// Hold times in s that decide the limit reliably; null where none does.
	HoldSteady   *float64     `json:"hold_if_temperature_steady"`
	HoldChanging *float64     `json:"hold_if_temperature_changes_on"`
	Budget       []budgetJSON `json:"budget"`
	Units        []unitJSON   `json:"units"`
	Prior        *priorJSON   `json:"prior,omitempty"`
}

type budgetJSON struct {
	Source string   `json:"source"`
	U      float64  `json:"u"`
	DOF    *float64 `json:"dof"`
}

type unitJSON struct {
	OfLimit      float64  `json:"of_limit"`
	Loss         *float64 `json:"loss"`
	Pass         float64  `json:"pass"`
	Fail         float64  `json:"fail"`
	Inconclusive float64  `json:"inconclusive"`
	MeanHold     float64  `json:"mean_hold"`
	Early        float64  `json:"early"`
	Extended     float64  `json:"extended"`
}

type priorJSON struct {
	Stated        string  `json:"stated"`
	NotConforming float64 `json:"not_conforming"`
	PassWrongly   float64 `json:"pass_wrongly"`
	FailWrongly   float64 `json:"fail_wrongly"`
	Inconclusive  float64 `json:"inconclusive"`
}

func (p plan) writeJSON(w io.Writer) error {
	out := planJSON{Format: "holdbench plan", Version: 1, Procedure: p.Procedure, Bench: p.Bench, Position: p.Position}
	for _, c := range p.Circuits {
		for _, l := range c.Limits {
			out.Limits = append(out.Limits, p.limitJSON(c.Name, l))
		}
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(out)
}

func (p plan) limitJSON(circuit string, l analysis.Planned) plannedJSON {
	_, q := l.Loss(1)
	lossUnit := q.SI().Symbol
	if q == si.Dimensionless {
		lossUnit = "1/s"
	}
	out := plannedJSON{
		Circuit: circuit, Quantity: l.Limit.Quantity, Bound: l.Limit.Bound.String(), Value: l.Limit.Value, Unit: l.Limit.Row().Quantity.SI().Symbol,
		LossUnit: lossUnit, Absent: l.Absent, Resolves: l.Resolves, Smallest: figureOrNull(l.Smallest), U: figureOrNull(l.StdUncertainty),
		DOF: figureOrNull(l.DegreesOfFreedom), Factor: figureOrNull(l.Factor),
		HoldSteady: figureOrNull(l.Steady.Duration), HoldChanging: figureOrNull(l.Changing.Duration),
		Budget: []budgetJSON{},
	}
	for _, line := range l.Budget {
		out.Budget = append(out.Budget, budgetJSON{line.Source, line.StdUncertainty, figureOrNull(line.DegreesOfFreedom)})
	}
	for _, s := range l.Units {
		loss, _ := l.Loss(s.Multiple)
		out.Units = append(out.Units, unitJSON{s.Multiple, figureOrNull(loss), s.Pass, s.Fail, s.Inconclusive, s.Mean, s.Early, s.Extended})
	}
	if g, ok := p.among(l); ok {
		out.Prior = &priorJSON{strings.TrimSpace(p.prior), g.NotConforming, g.Consumer, g.Producer, g.Inconclusive}
	}
	return out
}

// figureOrNull is nil for what JSON has no figure for.
func figureOrNull(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
