package procedure

import (
	"errors"
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/daq/strict"
)

// defaultRisk is the largest chance of a PASS or FAIL for a unit exactly at
// the limit, unless the procedure says otherwise.
const defaultRisk = 0.05

// notLimited are estimates that describe the bench and its liquid, not the
// unit: a limit on one of them would judge the wrong thing.
var notLimited = map[string]bool{"thermal_coefficient": true, "stiffness": true}

// limits reads [[limit]].
func (p *Procedure) limits(tables []*strict.Table) {
	type twin struct {
		quantity string
		bound    verdict.Bound
		after    float64
	}
	seen := map[twin]bool{}
	for _, t := range tables {
		l, row, ok := p.limit(t)
		if !ok {
			continue
		}
		p.plausible(l, row, t)
		if hold, _ := p.Step(Hold); row.OfHold && hold.ExtendTo > 0 {
			t.Required("quantity").Fault(strict.Quote(row.Name), "no "+row.Name+" beside extend_to: it belongs to a hold of one length")
		}
		if l.Source == "" {
			l.Source = p.Source
		}
		if l.Source == "" {
			t.Required("source").Fault("nothing", "who set this limit, here or once for all as the procedure's source")
		}
		this := twin{l.Quantity, l.Bound, l.After}
		if seen[this] {
			t.Fault("a second "+l.Bound.String()+" for "+l.Quantity, "one")
		}
		seen[this] = true
		p.Limits = append(p.Limits, l)
	}
}

// limit reads one [[limit]]; ok is false where its quantity is not known, and
// its other keys are then not judged.
func (p *Procedure) limit(t *strict.Table) (l verdict.Limit, row verdict.QuantityRow, ok bool) {
	keys := []string{"max", "min", "rule", "risk_pass", "risk_fail", "u_max", "after", "source"}
	for _, k := range keys {
		t.Optional(k) // known, even where they are not read below
	}
	k := t.Required("quantity")
	row, ok = verdict.Lookup(k.OneOf(limited()...))
	if !ok {
		return l, row, false
	}
	l = verdict.Limit{Quantity: row.Name, Source: t.Optional("source").Text()}
	p.bound(t, row, &l)
	rule(t, row, &l)
	after := t.Optional("after")
	if row.Name == "pressure_after" {
		l.After = t.Required("after").Positive(si.Time)
	} else {
		after.Refuse("pressure_after only")
	}
	return l, row, true
}

// limited are the names of the quantities that a limit may name.
func limited() []string {
	var names []string
	for _, q := range verdict.Quantities {
		if !notLimited[q.Name] {
			names = append(names, q.Name)
		}
	}
	return names
}

// bound reads max or min, with a unit or in per cent of the test pressure.
func (p *Procedure) bound(t *strict.Table, row verdict.QuantityRow, l *verdict.Limit) {
	largest, smallest := t.Optional("max"), t.Optional("min")
	k := largest
	switch {
	case largest.Given() && smallest.Given():
		smallest.Refuse("max says it already; write a second [[limit]] for the other bound")
	case smallest.Given():
		k, l.Bound = smallest, verdict.Min
	case !largest.Given():
		k = t.Required(row.Default.String())
		l.Bound = row.Default
	}
	if !verdict.IsRelative(k.Written()) {
		l.Value, l.Written = k.Positive(row.Quantity), k.Written()
		return
	}
	var err error
	l.Value, l.Written, err = verdict.Relative(k.Written(), row, p.TestPressure)
	var wrong *si.Error
	switch {
	case math.IsNaN(p.TestPressure): // is at fault itself
		l.Value = math.NaN()
	case errors.As(err, &wrong):
		l.Value = math.NaN()
		k.Fault(wrong.Found, wrong.Want)
	case !(l.Value > 0):
		l.Value = math.NaN()
		k.Fault(k.Found(), "a share above zero")
	}
}

// rule reads how the limit is decided.
func rule(t *strict.Table, row verdict.QuantityRow, l *verdict.Limit) {
	if k := t.Optional("rule"); k.Given() && k.OneOf("guarded", "simple") == "simple" {
		l.Rule = verdict.Simple
	}
	l.RiskPass, l.RiskFail = defaultRisk, defaultRisk
	uMax := t.Optional("u_max")
	for _, r := range []struct {
		key  string
		risk *float64
	}{{"risk_pass", &l.RiskPass}, {"risk_fail", &l.RiskFail}} {
		k := t.Optional(r.key)
		if l.Rule == verdict.Simple {
			k.Refuse("the simple rule has no guard band")
		} else if k.Given() {
			*r.risk = k.Number("a number above 0 and at most 0.5, e.g. 0.05", func(x float64) bool { return x > 0 && x <= 0.5 })
		}
	}
	switch {
	case l.Rule == verdict.Guarded:
		uMax.Refuse(`only beside rule = "simple"`)
	case row.StateUMax:
		l.UMax = t.Required("u_max").Positive(row.Quantity.Difference())
	case uMax.Given():
		l.UMax = uMax.Positive(row.Quantity.Difference())
	}
}

// plausible checks a limit on a pressure or a drop against the pressures of
// the procedure: a limit outside them decides nothing.
func (p *Procedure) plausible(l verdict.Limit, row verdict.QuantityRow, t *strict.Table) {
	k := t.Optional(l.Bound.String())
	switch {
	case math.IsNaN(l.Value):
	case row.Quantity == si.Pressure && l.Value > p.StartHigh:
		k.Fault(k.Found(), "a pressure not above the start window")
	case row.Quantity == si.PressureChange && l.Value > p.StartHigh:
		k.Fault(k.Found(), "a loss not above the pressure that is there")
	}
}
