package main

import (
	"fmt"
	"math"
	"strconv"

	"holdbench/analysis/characterisation"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/report"
)

// characterisationKind is one thing that runs can characterise.
type characterisationKind struct {
	name, title string
	run         func(*characterised) (findings, error)
}

// characterisationKinds is the one table of what can be characterised.
var characterisationKinds = []characterisationKind{
	{"thermal", "Thermal coefficient and lag", thermalFindings},
	{"stiffness", "Stiffness", stiffnessFindings},
	{"settling", "Settling and creep", settlingFindings},
	{"blank", "Blank run", blankFindings},
}

// findings are what the runs of a kind say.
type findings struct {
	// used is how many runs are behind the figures.
	used   int
	rows   []findingRow
	keys   []findingKey
	notes  []string
	curves []report.CharacterisationCurve
	// refused says of each run that says nothing why.
	refused []string
}

// findingRow is a figure for the screen and the page.
type findingRow struct {
	name string
	e    uncertainty.Estimate
	// plain is shown instead where it is not empty.
	plain, note string
}

// findingKey is a line of the block.
type findingKey struct{ key, value string }

func (r findingRow) text(d si.Display) string {
	if r.plain != "" {
		return r.plain
	}
	unit := d.Unit(r.e.Quantity)
	expanded := r.e.Expanded(0.95) / unit.Factor
	if !(expanded > 0) {
		return si.Format(unit.FromSI(r.e.Value), 4) + " " + unit.Symbol
	}
	decimals := si.Decimals(expanded)
	return fmt.Sprintf("%s ± %s %s (95 %%)", si.Format(unit.FromSI(r.e.Value), decimals), si.Format(expanded, decimals), unit.Symbol)
}

// add adds a figure to table and block.
func (f *findings) add(key, name string, e uncertainty.Estimate, note string) {
	f.rows = append(f.rows, findingRow{name: name, e: e, note: note})
	unit := si.DefaultDisplay.Unit(e.Quantity)
	f.keys = append(f.keys, findingKey{key, strconv.Quote(fmt.Sprintf("%s ± %s %s",
		strconv.FormatFloat(unit.FromSI(e.Value), 'g', 6, 64), strconv.FormatFloat(e.StdUncertainty/unit.Factor, 'g', 3, 64), unit.Symbol))})
	if e.DegreesOfFreedom < manyDegrees {
		f.keys = append(f.keys, findingKey{key + "_dof", strconv.FormatFloat(max(1, math.Round(e.DegreesOfFreedom*10)/10), 'g', -1, 64)})
	}
}

// manyDegrees of freedom are as good as infinite, which a file need not state.
const manyDegrees = 1e4

// number adds a bare number to table and block.
func (f *findings) number(key, name string, x float64, note string) {
	f.rows = append(f.rows, findingRow{name: name, plain: si.Format(x, 3), note: note})
	f.keys = append(f.keys, findingKey{key, strconv.FormatFloat(x, 'g', 4, 64)})
}

func (f *findings) refuse(r characterisation.Record, why string) {
	f.refused = append(f.refused, r.Source+": "+why)
}

func (f *findings) curve(r characterisation.Record, c characterisation.Curve) {
	f.curves = append(f.curves, report.CharacterisationCurve{Title: r.Source, Time: c.Time, Measured: c.Measured, Fitted: c.Fitted})
}

// together says what several runs come to.
func together(c characterisation.Combined) string {
	if c.Runs == 1 {
		return "one run"
	}
	if c.Between > 0 {
		unit := si.DefaultDisplay.Unit(c.Quantity)
		return fmt.Sprintf("%d runs, which differ by more than each says of itself: by %.2g %s (1 SD) beyond it", c.Runs, c.Between/unit.Factor, unit.Symbol)
	}
	return fmt.Sprintf("%d runs that agree", c.Runs)
}

// mostlyFollowed is the share of the probe's movement below which a run is said
// to have moved too quickly.
const mostlyFollowed = 0.7

func thermalFindings(s *characterised) (f findings, err error) {
	var coefficients, lags []characterisation.Figure
	var correlations []float64
	for _, r := range s.records {
		t := characterisation.ThermalOf(r)
		if t.Refused != "" {
			f.refuse(r, t.Refused)
			continue
		}
		coefficients, lags, correlations = append(coefficients, t.Coefficient), append(lags, t.Lag), append(correlations, t.Correlation)
		f.curve(r, t.Curve)
		last := &f.curves[len(f.curves)-1]
		last.Probe, last.Liquid = t.Probe, t.Liquid
		f.notes = append(f.notes, fmt.Sprintf("%s: %s; beside temperature it lost %s",
			r.Source, findingRow{e: t.Coefficient.Estimate}.text(si.DefaultDisplay), findingRow{e: t.Trend}.text(si.DefaultDisplay)))
		if t.Followed < mostlyFollowed {
			f.notes = append(f.notes, fmt.Sprintf("%s: the liquid followed only %.0f %% of the probe's movement: the figure leans on how the liquid follows; move the temperature more slowly, each way for at least %.0f s",
				r.Source, 100*t.Followed, math.Ceil(5*math.Abs(t.Lag.Value)/10)*10))
		}
	}
	f.thermal(coefficients, lags, correlations)
	return f, nil
}

func (f *findings) thermal(coefficients, lags []characterisation.Figure, correlations []float64) {
	if len(coefficients) == 0 {
		return
	}
	f.used = max(f.used, len(coefficients))
	b, lag := characterisation.Combine(coefficients), characterisation.Combine(lags)
	f.add("thermal_coefficient", "thermal coefficient", b.Estimate, together(b))
	f.add("lag", "lag", lag.Estimate, together(lag))
	f.number("lag_correlation", "correlation of the two", characterisation.CombineCorrelation(b, lag, coefficients, lags, correlations), "")
}

func stiffnessFindings(s *characterised) (f findings, err error) {
	var all []characterisation.Figure
	for i, r := range s.records {
		steps, err := notedSteps(s.runs[i].Recording.Events, s.steps)
		if err != nil {
			return f, err
		}
		c := characterisation.StiffnessOf(characterisation.StiffnessRun{Record: r, Steps: steps, Volume: s.volume, Ambient: s.bench.Ambient.Pressure.Value})
		if c.Refused != "" {
			f.refuse(r, c.Refused)
			continue
		}
		all = append(all, c.Stiffness)
		f.curve(r, c.Curve)
		f.notes = append(f.notes, fmt.Sprintf("%s: %d steps; a quick step reads %.3g ± %.2g of the relaxed stiffness (95 %%); relaxation time constant %.3g s",
			r.Source, len(c.Steps), c.Quick.Value, c.Quick.Expanded(0.95), c.TimeConstant.Value))
		if c.Air != nil {
			f.notes = append(f.notes, fmt.Sprintf("%s: trapped air %.2g ± %.1g %% of the volume at atmospheric pressure, modulus of the rest %.3g GPa (95 %%)",
				r.Source, 100*c.Air.Share.Value, 100*c.Air.Share.Expanded(0.95), c.Air.Modulus.Value/1e9))
		} else if s.volume > 0 {
			f.notes = append(f.notes, r.Source+": air: "+c.AirNo)
		}
	}
	if len(all) > 0 {
		f.used = len(all)
		c := characterisation.Combine(all)
		f.add("stiffness", "stiffness (relaxed)", c.Estimate, together(c))
	}
	return f, nil
}

func settlingFindings(s *characterised) (f findings, err error) {
	var amplitudes, constants, creeps []characterisation.Figure
	var correlations []float64
	creepFor, endFor := 0, 0
	for _, r := range s.records {
		c := characterisation.SettlingOf(r)
		if c.Refused != "" {
			f.refuse(r, c.Refused)
			continue
		}
		f.used++
		f.curve(r, c.Curve)
		if e := c.Exponential; e != nil {
			amplitudes, constants, correlations = append(amplitudes, e.Amplitude), append(constants, e.TimeConstant), append(correlations, e.Correlation)
		} else {
			f.notes = append(f.notes, r.Source+": "+c.ExponentialNo)
		}
		if c.Creep != nil {
			creeps = append(creeps, *c.Creep)
		} else {
			f.notes = append(f.notes, r.Source+": "+c.CreepNo)
		}
		if c.Words != "" {
			f.notes = append(f.notes, r.Source+": "+c.Words)
		}
		switch c.Prefers {
		case "creep":
			creepFor++
		case "exponential":
			endFor++
		}
	}
	// One law goes into the block: what the readings speak for, and a settling
	// that ends where they do not decide.
	creeping := len(creeps) > 0 && (creepFor > endFor || len(amplitudes) == 0)
	if len(amplitudes) > 0 {
		a, t := characterisation.Combine(amplitudes), characterisation.Combine(constants)
		var kept findings
		kept.add("settling_amplitude", "settling amplitude", a.Estimate, together(a))
		kept.add("settling_time_constant", "settling time constant", t.Estimate, together(t))
		kept.number("settling_correlation", "correlation of the two", characterisation.CombineCorrelation(a, t, amplitudes, constants, correlations), "")
		f.keep(kept, !creeping)
	}
	if len(creeps) > 0 {
		c := characterisation.Combine(creeps)
		var kept findings
		kept.add("creep", "creep per decade of time", c.Estimate, together(c))
		f.keep(kept, creeping)
	}
	return f, nil
}

// keep takes figures over; what does not go into the block says so.
func (f *findings) keep(kept findings, block bool) {
	for _, row := range kept.rows {
		if !block {
			row.note = "not in the block: the other describes the runs better"
		}
		f.rows = append(f.rows, row)
	}
	if block {
		f.keys = append(f.keys, kept.keys...)
	}
}

func blankFindings(s *characterised) (f findings, err error) {
	var drifts, coefficients, lags []characterisation.Figure
	var correlations []float64
	var variance, rho float64
	for _, r := range s.records {
		b := characterisation.BlankOf(r)
		if b.Refused != "" {
			f.refuse(r, b.Refused)
			continue
		}
		f.used++
		f.curve(r, b.Curve)
		drifts = append(drifts, b.Drift)
		variance, rho = variance+b.Noise.Value*b.Noise.Value, rho+b.Autocorrelation
		if t := b.Thermal; t.Refused == "" {
			coefficients, lags, correlations = append(coefficients, t.Coefficient), append(lags, t.Lag), append(correlations, t.Correlation)
		} else {
			f.notes = append(f.notes, r.Source+": thermal coefficient: "+t.Refused)
		}
	}
	if f.used == 0 {
		return f, nil
	}
	n := float64(f.used)
	noise := uncertainty.Estimate{Value: math.Sqrt(variance / n), DegreesOfFreedom: math.Inf(1), Quantity: si.PressureChange}
	unit := si.DefaultDisplay.Unit(si.PressureChange)
	f.rows = append(f.rows, findingRow{name: "noise of one reading (1 SD)", plain: fmt.Sprintf("%.3g %s", noise.Value/unit.Factor, unit.Symbol)})
	f.keys = append(f.keys, findingKey{"noise", strconv.Quote(strconv.FormatFloat(noise.Value/unit.Factor, 'g', 4, 64) + " " + unit.Symbol)})
	f.number("noise_autocorrelation", "autocorrelation of successive readings", min(rho/n, 0.999), "")
	d := characterisation.Combine(drifts)
	f.add("drift", "drift", d.Estimate, together(d))
	f.thermal(coefficients, lags, correlations)
	return f, nil
}
