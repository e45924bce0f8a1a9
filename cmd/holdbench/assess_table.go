package main

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/daq/strict"
)

// assessTable is the table [assess] of a settings file: the flags of the same
// names, as written.
type assessTable struct {
	Limits                                         []string
	Rule, UMax, ThermalCoefficient, Lag, Stiffness string
	Units, TestPressure                            string
	StartWindow, FeedBelow, ZeroBefore, ZeroAfter  string
	Transducer, Thermometer                        instrumentFigures
	RiskPass, RiskFail                             float64
}

// texts are the keys that are written as they are said.
func (t *assessTable) texts() []writtenKey {
	return []writtenKey{
		{"rule", &t.Rule}, {"u_max", &t.UMax}, {"thermal_coefficient", &t.ThermalCoefficient}, {"lag", &t.Lag},
		{"stiffness", &t.Stiffness}, {"units", &t.Units}, {"test_pressure", &t.TestPressure},
		{"start_window", &t.StartWindow}, {"feed_below", &t.FeedBelow}, {"zero_before", &t.ZeroBefore}, {"zero_after", &t.ZeroAfter},
	}
}

type writtenKey struct {
	key  string
	into *string
}

// read takes the table from a settings file; faults go to the document's.
func (t *assessTable) read(root *strict.Table) {
	table := root.Optional("assess").Table()
	if table == nil {
		return
	}
	for _, k := range t.texts() {
		if key := table.Optional(k.key); key.Given() {
			*k.into = key.Text()
		}
	}
	t.Transducer = readFigures(table.Optional("transducer").Table(), transducerWords)
	t.Thermometer = readFigures(table.Optional("thermometer").Table(), thermometerWords)
	for _, k := range table.Optional("limits").List(`limits in quotes, e.g. ["decay_rate 0.2 bar/min"]`, 0) {
		t.Limits = append(t.Limits, k.Text())
	}
	risk := func(key string, into *float64) {
		if k := table.Optional(key); k.Given() {
			*into = k.Number("a number above 0 and up to 0.5", func(x float64) bool { return x > 0 && x <= 0.5 })
		}
	}
	risk("risk_pass", &t.RiskPass)
	risk("risk_fail", &t.RiskFail)
}

// write is the table as read takes it.
func (t assessTable) write(w io.Writer) error {
	var b strings.Builder
	b.WriteString("\n# What the files are judged by; flags of the same names come before it.\n[assess]\n")
	if len(t.Limits) > 0 {
		quoted := make([]string, len(t.Limits))
		for i, l := range t.Limits {
			quoted[i] = strconv.Quote(l)
		}
		fmt.Fprintf(&b, "limits = [%s]\n", strings.Join(quoted, ", "))
	}
	for _, k := range t.texts() {
		if *k.into != "" {
			fmt.Fprintf(&b, "%s = %s\n", k.key, strconv.Quote(*k.into))
		}
	}
	fmt.Fprintf(&b, "risk_pass = %s\nrisk_fail = %s\n", decimalText(t.RiskPass), decimalText(t.RiskFail))
	t.Transducer.write(&b, "transducer", transducerWords)
	t.Thermometer.write(&b, "thermometer", thermometerWords)
	_, err := io.WriteString(w, b.String())
	return err
}

func decimalText(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// parseLimits reads the limits, of which some may be a share of the test
// pressure (Pa, 0: none stated), and gives each the rule and the risks.
func (t assessTable) parseLimits(testPressure float64) ([]verdict.Limit, error) {
	var faults []error
	rule := verdict.Guarded
	switch t.Rule {
	case "simple":
		rule = verdict.Simple
	case "guarded":
	default:
		faults = append(faults, &strict.Error{Field: "--rule", Found: strict.Quote(t.Rule), Want: "guarded or simple"})
	}
	for _, r := range []struct {
		flag string
		risk float64
	}{{"--risk-pass", t.RiskPass}, {"--risk-fail", t.RiskFail}} {
		if !(r.risk > 0 && r.risk <= 0.5) {
			faults = append(faults, &strict.Error{Field: r.flag, Found: decimalText(r.risk), Want: "a number above 0 and up to 0.5"})
		}
	}
	var limits []verdict.Limit
	for _, text := range t.Limits {
		l, err := verdict.Parse(text, testPressure)
		if err != nil {
			faults = append(faults, fmt.Errorf("--%w", err))
			continue
		}
		l.Rule, l.RiskPass, l.RiskFail, l.Source = rule, t.RiskPass, t.RiskFail, "given with the assessment"
		if t.UMax != "" {
			row, _ := verdict.Lookup(l.Quantity)
			if l.UMax, err = si.Parse(t.UMax, row.Quantity.Difference()); err != nil {
				faults = append(faults, named("--u-max", err))
			}
		}
		if err := l.Check(); err != nil {
			faults = append(faults, fmt.Errorf("--%w", err))
		}
		limits = append(limits, l)
	}
	return limits, errors.Join(faults...)
}

// parseKnown reads what is characterised.
func (t assessTable) parseKnown() (decay.Characterised, error) {
	known := decay.Characterised{Source: "given with the assessment"}
	var faults [3]error
	known.ThermalCoefficient, faults[0] = estimated("--thermal-coefficient", t.ThermalCoefficient, si.ThermalCoefficient)
	if b := known.ThermalCoefficient; b != nil && !(b.Value > 0) {
		faults[0] = &strict.Error{Field: "--thermal-coefficient", Found: strict.Quote(t.ThermalCoefficient), Want: "a coefficient above 0: a liquid that is locked in and warms presses harder"}
	}
	known.Lag, faults[1] = estimated("--lag", t.Lag, si.Time)
	known.Stiffness, faults[2] = estimated("--stiffness", t.Stiffness, si.Stiffness)
	return known, errors.Join(faults[:]...)
}
