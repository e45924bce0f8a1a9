package main

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"holdbench/analysis/fluid"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// figures writes tables of figures, each with its expanded uncertainty and the
// number of its source, which are listed at the end.
type figures struct {
	out     io.Writer
	table   *tabwriter.Writer
	display si.Display
	sources []string
}

func newFigures(out io.Writer, display si.Display) *figures {
	return &figures{out: out, table: tabwriter.NewWriter(out, 0, 0, 2, ' ', 0), display: display}
}

// head begins a table.
func (t *figures) head(title string) {
	_ = t.table.Flush()
	fmt.Fprintf(t.out, "%s\n", title)
}

// row is a figure in the display unit of its quantity.
func (t *figures) row(name string, f fluid.Figure) {
	t.line(name, figureText(f.Estimate, t.display.Unit(f.Quantity)), t.sourcesOf(f))
}

// line is a row of the table; blanks at the end are none.
func (t *figures) line(name, text, source string) {
	fmt.Fprintf(t.table, "  %s\t%s\t%s\n", name, text, source)
}

// source is the number of a source, e.g. "[2]".
func (t *figures) source(text string) string { return fmt.Sprintf("[%d]", t.number(text)) }

func (t *figures) number(text string) int {
	i := slices.Index(t.sources, text)
	if i < 0 {
		t.sources = append(t.sources, text)
		i = len(t.sources) - 1
	}
	return i + 1
}

// sourcesOf are the numbers of what matters to a figure: the sources of the
// lines that give at least a tenth of its uncertainty.
func (t *figures) sourcesOf(f fluid.Figure) string {
	var numbers []int
	for _, l := range f.Budget {
		if l.StdUncertainty >= f.StdUncertainty/10 {
			numbers = append(numbers, t.number(l.Note))
		}
	}
	slices.Sort(numbers)
	text := fmt.Sprint(slices.Compact(numbers))
	return strings.ReplaceAll(text, " ", ", ")
}

// close lists the sources.
func (t *figures) close() error {
	t.head("\nSources (± is 95 %)")
	for i, s := range t.sources {
		fmt.Fprintf(t.out, "  [%d] %s\n", i+1, s)
	}
	return nil
}

// figureText is a value ± expanded uncertainty (95 %) in a unit.
func figureText(e uncertainty.Estimate, unit si.Unit) string {
	expanded := e.Expanded(0.95) / unit.Factor
	decimals := si.Decimals(expanded)
	text := si.Format(unit.FromSI(e.Value), decimals) + " ± " + si.Format(expanded, decimals)
	if unit.Symbol != "1" {
		text += " " + unit.Symbol
	}
	return text
}

// liquid shows a liquid at a state.
func (t *figures) liquid(l fluid.Liquid, s fluid.State, air float64) error {
	p, err := l.At(s)
	if err != nil {
		return err
	}
	pressure, temperature := t.display.Unit(si.Pressure), t.display.Unit(si.Temperature)
	t.head(fmt.Sprintf("%s at %s %s and %s %s (its figures hold %s)", l.Name, plainNumber(pressure.FromSI(s.PressureAbs-air)), pressure.Symbol,
		plainNumber(temperature.FromSI(s.Temperature)), temperature.Symbol, rangeText(l.Range, t.display)))
	t.row("density", p.Density)
	t.row("thermal expansion", p.Expansion)
	t.row("bulk modulus, isothermal", p.BulkModulus)
	t.row("specific heat", p.SpecificHeat)
	t.row("kinematic viscosity", p.Viscosity)
	t.row("viscosity change", p.ViscosityChange)
	t.row("thermal coefficient in a vessel that does not give", p.ThermalCoefficient)
	t.row("bulk modulus of a quick step over that of a slow one", p.AdiabaticRatio)
	t.line("air that it takes up", figureText(uncertainty.Estimate{Value: 100 * l.AirSolubility.Value, StdUncertainty: 100 * l.AirSolubility.U, DegreesOfFreedom: math.Inf(1)},
		si.Unit{Symbol: "% by volume for each atmosphere", Factor: 1}), t.source(l.AirSolubility.Source))
	return t.table.Flush()
}

// volume shows what the bench's volume does.
func (t *figures) volume(s subject) error {
	v := volumeOf(s)
	t.head(fmt.Sprintf("\nmodel %s, circuit %s, on %s, %s: %s", s.from.Model, s.from.Circuit, s.bench.Name, fluid.NotMeasured, partsText(s)))
	var errs firstError
	row := func(name string) func(fluid.Figure, error) {
		return func(f fluid.Figure, err error) {
			if errs.keep(err) {
				t.row(name, f)
			}
		}
	}
	row("thermal coefficient")(v.ThermalCoefficient(s.state))
	row("stiffness")(v.Stiffness(s.state))
	t.characterised(s)
	row("bulk modulus of the whole")(v.EffectiveModulus(s.state))
	row("stiffness to a quick step over that to a slow one")(v.QuickRatio(s.state))
	row("liquid pumped in from 0")(v.PumpedIn(s.state))
	saturation := v.Saturation()
	saturation.Value -= airOf(s.bench)
	row("all its free air can dissolve, in minutes to hours, from")(saturation, nil)
	warming, err := v.Warming(s.state)
	row("warming on pressurising from 0, at most")(warming.Rise, err)
	row("pressure that goes as it cools back, without a leak")(warming.Decay, err)

	for i, h := range v.Hoses {
		if !h.Plausible() {
			t.head(fmt.Sprintf("\nnote: hose %d is softer than 49 CFR 571.106 allows a brake hose of its bore: is its expansion right?", i+1))
		}
	}
	t.head("\nwhat does this to the test")
	t.effects(v, s, row)
	if errs.err != nil {
		return errs.err
	}
	return t.budget(v, s)
}

// firstError keeps the first error.
type firstError struct{ err error }

// keep notes an error and says whether there was none.
func (e *firstError) keep(err error) bool {
	if err != nil && e.err == nil {
		e.err = err
	}
	return err == nil
}

// effects shows what heat, air, hose and leaks do.
func (t *figures) effects(v fluid.Volume, s subject, row func(string) func(fluid.Figure, error)) {
	kelvin := t.display.Unit(si.TemperatureDifference)
	one, err := v.ThermalCoefficient(s.state)
	row("1 "+kelvin.Symbol+" warmer")(asChange(one, kelvin.Factor), err)

	const percent = 0.01
	air, err := v.MoreAir(percent, s.state)
	row("1 % more free air: thermal coefficient ×")(air.ThermalCoefficient, err)
	row("1 % more free air: stiffness ×")(air.Stiffness, err)
	row("1 % of free air that dissolves: pressure lost")(v.Dissolving(percent, s.state))

	hose, which := oneMetre(v)
	more, err := v.MoreHose(hose, s.state)
	row("1 m more of "+which+": thermal coefficient ×")(more.ThermalCoefficient, err)
	row("1 m more of "+which+": stiffness ×")(more.Stiffness, err)

	row("a leak of 1 mL/min")(v.RateOf(1e-6/60, s.state))
	for _, f := range fluid.DropFactors {
		row(fmt.Sprintf("one drop a minute, %g to the mL (%s)", f.PerMillilitre, f.Source))(v.RateOf(f.Drop()/60, s.state))
	}
}

// asChange is what a thermal coefficient does for so many kelvins.
func asChange(f fluid.Figure, kelvins float64) fluid.Figure {
	f.Value *= kelvins
	f.StdUncertainty *= kelvins
	f.Quantity = si.PressureChange
	return f
}

// oneMetre is a metre of the volume's own hose; where it has none, of the
// softest that a regulation allows.
func oneMetre(v fluid.Volume) (fluid.Hose, string) {
	if len(v.Hoses) == 0 {
		return fluid.RegulationHose(), "the softest brake hose of 49 CFR 571.106"
	}
	h := v.Hoses[0]
	h.Length.Name, h.Length.Value, h.Length.U = "length of the further hose", 1, 0.005
	return h, "its hose"
}

// budget shows what most of the thermal coefficient's uncertainty is.
func (t *figures) budget(v fluid.Volume, s subject) error {
	f, err := v.ThermalCoefficient(s.state)
	if err != nil {
		return err
	}
	unit := t.display.Unit(si.ThermalCoefficient)
	t.head("\nthe thermal coefficient's standard uncertainty (k = 1), line by line")
	lines := slices.Clone(f.Budget)
	slices.SortStableFunc(lines, func(a, b uncertainty.Line) int { return cmp.Compare(b.StdUncertainty, a.StdUncertainty) })
	for _, l := range lines {
		if l.StdUncertainty < f.StdUncertainty/50 {
			break
		}
		u := l.StdUncertainty / unit.Factor
		t.line(l.Source, si.Format(u, si.Decimals(u))+" "+unit.Symbol, t.source(l.Note))
	}
	return t.table.Flush()
}

// partsText says in words what the volume is made of.
func partsText(s subject) string {
	ml := s.display.Unit(si.Volume)
	text := []string{figureText(s.from.Trapped, ml) + " trapped", figureText(inPercent(s.from.Air), si.Unit{Symbol: "% of free air", Factor: 1}), s.from.Body + " body"}
	metres := func(what string, lengths []float64) {
		if len(lengths) > 0 {
			sum := 0.0
			for _, l := range lengths {
				sum += l
			}
			text = append(text, fmt.Sprintf("%.3g m of %s", sum, what))
		}
	}
	var tubes, hoses []float64
	for _, tube := range s.from.Tubes {
		tubes = append(tubes, tube.Length.Value)
	}
	for _, hose := range s.from.Hoses {
		hoses = append(hoses, hose.Length.Value)
	}
	metres("tube", tubes)
	metres("hose", hoses)
	return strings.Join(text, ", ")
}

func inPercent(e uncertainty.Estimate) uncertainty.Estimate {
	e.Value *= 100
	e.StdUncertainty *= 100
	return e
}

// characterised shows what was measured, which wins.
func (t *figures) characterised(s subject) {
	if s.known == nil {
		return
	}
	for _, c := range []struct {
		name string
		e    *uncertainty.Estimate
	}{{"thermal coefficient", s.known.ThermalCoefficient}, {"stiffness", s.known.Stiffness}} {
		if c.e != nil {
			t.line(c.name+", characterised: used instead", figureText(*c.e, t.display.Unit(c.e.Quantity)), t.source("characterisation: "+s.known.Source))
		}
	}
}
