package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"holdbench/analysis/fluid"
	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/strict"
	"holdbench/report/result"
)

// fluidFlags are the command's flags as written.
type fluidFlags struct {
	bench, procedure, model, circuit, fluid, pressure, temperature, units string
}

func fluidCommand(*int) *cobra.Command {
	var f fluidFlags
	cmd := &cobra.Command{
		Use:   "fluid --bench bench.toml --model MODEL",
		Short: "Show what is known of a liquid, and what 1 K, air, hose or a drop do to a test",
		Long: `Without a word behind it, fluid shows what a bench's [[volume]] of a model does when it
is filled with a liquid: thermal coefficient, stiffness, warming on pressurising, and
what 1 K, 1 % of air, a metre of hose, 1 mL/min or one drop a minute do to the test.
Everything is computed from the liquid and the bench file, not measured.`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.volume(cmd.OutOrStdout()) },
	}
	list := &cobra.Command{
		Use: "list", Short: "List the liquids that the program knows", Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.list(cmd.OutOrStdout()) },
	}
	show := &cobra.Command{
		Use: "show NAME", Short: "Show a liquid's figures, each with its uncertainty and source", Args: oneArgument("a liquid's name"),
		RunE: func(cmd *cobra.Command, args []string) error { return f.show(cmd.OutOrStdout(), args[0]) },
	}
	for _, c := range []*cobra.Command{cmd, list, show} {
		c.Flags().StringVar(&f.bench, "bench", "", "bench file (TOML), for its own liquids and volumes")
		unitsFlag(c, &f.units)
	}
	for _, c := range []*cobra.Command{cmd, show} {
		c.Flags().StringVar(&f.pressure, "pressure", "", "gauge pressure with unit")
		c.Flags().StringVar(&f.temperature, "temperature", "20 °C", "the liquid's temperature with unit")
	}
	cmd.Flags().StringVar(&f.procedure, "procedure", "", "procedure file (TOML): model, fluid and test pressure are its own")
	cmd.Flags().StringVar(&f.model, "model", "", "model of the unit")
	cmd.Flags().StringVar(&f.circuit, "circuit", "a", "circuit of the unit, a or b")
	cmd.Flags().StringVar(&f.fluid, "fluid", "", "the liquid; default that of the model's characterisation")
	cmd.AddCommand(list, show)
	return cmd
}

// benchFile reads the bench file, nil where none is given.
func (f fluidFlags) benchFile() (*bench.Bench, error) {
	if f.bench == "" {
		return nil, nil
	}
	return bench.Load(f.bench)
}

// state reads pressure and temperature; without a pressure the one given,
// gauge, Pa.
func (f fluidFlags) state(pressure, air float64) (fluid.State, error) {
	var errs [2]error
	if f.pressure != "" {
		pressure, errs[0] = given("--pressure", f.pressure, si.Pressure)
	}
	temperature, err := given("--temperature", f.temperature, si.Temperature)
	errs[1] = err
	return fluid.State{PressureAbs: pressure + air, Temperature: temperature}, errors.Join(errs[:]...)
}

// given reads a flag's quantity.
func given(flag, text string, q si.Quantity) (float64, error) {
	x, err := si.Parse(text, q)
	if err != nil {
		return x, fmt.Errorf("%s: %w", flag, err)
	}
	return x, nil
}

// liquids are the bench's own and then the table's.
func liquids(b *bench.Bench) []fluid.Liquid {
	var all []fluid.Liquid
	if b != nil {
		for _, own := range b.Fluids {
			all = append(all, result.OwnLiquid(own))
		}
	}
	return append(all, fluid.Table()...)
}

// liquid finds the liquid of a name.
func liquid(b *bench.Bench, field, name string) (fluid.Liquid, error) {
	l, ok := result.LiquidOf(b, name)
	if ok {
		return l, nil
	}
	var names []string
	for _, l := range liquids(b) {
		names = append(names, l.Name)
	}
	return l, &strict.Error{Field: field, Found: strict.Quote(name) + ", which is not known",
		Want: "one of " + strings.Join(names, ", ") + ", or a [[fluid]] of the bench's fluids file"}
}

func (f fluidFlags) list(out io.Writer) error {
	display, err := parseUnits(f.units)
	if err != nil {
		return err
	}
	b, err := f.benchFile()
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "NAME\tFAMILY\tFIGURES HOLD\tALSO CALLED")
	for _, l := range liquids(b) {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", l.Name, l.Family, rangeText(l.Range, display), firstNames(l.Aliases))
	}
	return w.Flush()
}

// firstNames lists a few aliases.
func firstNames(names []string) string {
	const most = 4
	if len(names) > most {
		return strings.Join(names[:most], ", ") + ", …"
	}
	return strings.Join(names, ", ")
}

func rangeText(r fluid.Range, d si.Display) string {
	p, t := d.Unit(si.Pressure), d.Unit(si.Temperature)
	return fmt.Sprintf("to %s %s, %s to %s %s", plainNumber(p.FromSI(r.PressureHigh-fluid.Atmosphere)), p.Symbol,
		plainNumber(t.FromSI(r.TemperatureLow)), plainNumber(t.FromSI(r.TemperatureHigh)), t.Symbol)
}

// plainNumber is a number with at most four digits.
func plainNumber(x float64) string { return fmt.Sprintf("%.4g", x) }

func (f fluidFlags) show(out io.Writer, name string) error {
	display, unitsErr := parseUnits(f.units)
	b, err := f.benchFile()
	if err = errors.Join(unitsErr, err); err != nil {
		return err
	}
	l, nameErr := liquid(b, "fluid show", name)
	s, stateErr := f.state(0, airOf(b))
	if err := errors.Join(nameErr, stateErr); err != nil {
		return err
	}
	t := newFigures(out, display)
	if err := t.liquid(l, s, airOf(b)); err != nil {
		return outOfRange(err, l, s, airOf(b), display)
	}
	if len(l.Aliases) > 0 {
		fmt.Fprintf(out, "Also called %s\n", strings.Join(l.Aliases, ", "))
	}
	return t.close()
}

// outOfRange names the flag with which a state left what is known of a liquid;
// other errors stay as they are.
func outOfRange(err error, l fluid.Liquid, s fluid.State, air float64, d si.Display) error {
	var beyond *fluid.RangeError
	if !errors.As(err, &beyond) {
		return err
	}
	p, t := d.Unit(si.Pressure), d.Unit(si.Temperature)
	within := ", within which " + l.Name + " is known"
	var faults []error
	if s.PressureAbs < air || s.PressureAbs > l.Range.PressureHigh {
		faults = append(faults, &strict.Error{Field: "--pressure", Found: plainNumber(p.FromSI(s.PressureAbs-air)) + " " + p.Symbol,
			Want: "0 to " + plainNumber(p.FromSI(l.Range.PressureHigh-fluid.Atmosphere)) + " " + p.Symbol + " gauge" + within})
	}
	if s.Temperature < l.Range.TemperatureLow || s.Temperature > l.Range.TemperatureHigh {
		faults = append(faults, &strict.Error{Field: "--temperature", Found: plainNumber(t.FromSI(s.Temperature)) + " " + t.Symbol,
			Want: plainNumber(t.FromSI(l.Range.TemperatureLow)) + " to " + plainNumber(t.FromSI(l.Range.TemperatureHigh)) + " " + t.Symbol + within})
	}
	if len(faults) == 0 {
		return err
	}
	return errors.Join(faults...)
}

// airOf is the bench's air pressure, Pa absolute.
func airOf(b *bench.Bench) float64 {
	if b == nil {
		return fluid.Atmosphere
	}
	return result.AirPressure(b)
}

// subject is what the command is asked about.
type subject struct {
	bench    *bench.Bench
	from     bench.Volume
	liquid   fluid.Liquid
	state    fluid.State
	display  si.Display
	known    *bench.Characterisation
	pressure float64 // gauge
}

func (f fluidFlags) volume(out io.Writer) error {
	s, err := f.subject()
	if err != nil {
		return err
	}
	t := newFigures(out, s.display)
	if err := t.liquid(s.liquid, s.state, airOf(s.bench)); err != nil {
		return outOfRange(err, s.liquid, s.state, airOf(s.bench), s.display)
	}
	if err := t.volume(s); err != nil {
		return err
	}
	return t.close()
}

// subject gathers what the flags, the procedure and the characterisation say.
func (f fluidFlags) subject() (s subject, err error) {
	display, unitsErr := parseUnits(f.units)
	if f.bench == "" {
		return s, errors.Join(unitsErr, &strict.Error{Field: "--bench", Found: "nothing", Want: "a bench file, or the word list or show; see fluid --help"})
	}
	if f.circuit != "a" && f.circuit != "b" {
		return s, &strict.Error{Field: "--circuit", Found: strict.Quote(f.circuit), Want: "a or b"}
	}
	b, err := bench.Load(f.bench)
	if err = errors.Join(unitsErr, err); err != nil {
		return s, err
	}
	s.bench, s.display, s.pressure = b, display, math.NaN()
	if f.procedure != "" {
		p, err := procedure.Load(f.procedure)
		if err != nil {
			return s, err
		}
		f.model, f.fluid, s.pressure = cmp.Or(f.model, p.Model), cmp.Or(f.fluid, p.Fluid), p.TestPressure
	}
	for _, c := range b.Characterisations {
		if c.Model == f.model && c.Circuit == f.circuit {
			f.fluid = cmp.Or(f.fluid, c.Fluid)
			if math.IsNaN(s.pressure) {
				s.pressure = (c.PressureLow + c.PressureHigh) / 2
			}
		}
	}
	return s, f.fill(&s)
}

// fill reads what depends on the bench; all that is missing at once.
func (f fluidFlags) fill(s *subject) error {
	var errs []error
	missing := func(flag, want string) {
		errs = append(errs, &strict.Error{Field: flag, Found: "nothing", Want: want})
	}
	if f.model == "" {
		missing("--model", "the model of a [[volume]], or --procedure")
	} else if v := s.bench.Volume(f.model, f.circuit); v != nil {
		s.from = *v
	} else {
		errs = append(errs, &strict.Error{File: s.bench.Path, Field: "volume", Found: fmt.Sprintf("none of model %s, circuit %s", strict.Quote(f.model), f.circuit),
			Want: "a [[volume]] for it" + volumesOf(s.bench)})
	}
	if f.fluid == "" {
		missing("--fluid", `the liquid, e.g. "ISO VG 32", or --procedure`)
	} else if l, err := liquid(s.bench, "--fluid", f.fluid); err != nil {
		errs = append(errs, err)
	} else {
		s.liquid = l
	}
	if math.IsNaN(s.pressure) && f.pressure == "" {
		missing("--pressure", `the test pressure, e.g. "100 bar", or --procedure`)
	}
	state, err := f.state(s.pressure, airOf(s.bench))
	if err == nil && f.pressure != "" && !(state.PressureAbs > airOf(s.bench)) {
		want := "a gauge pressure above 0, at which the unit is tested"
		if s.liquid.Name != "" {
			p := s.display.Unit(si.Pressure)
			want += ", up to the " + plainNumber(p.FromSI(s.liquid.Range.PressureHigh-fluid.Atmosphere)) + " " + p.Symbol + " to which " + s.liquid.Name + " is known"
		}
		err = &strict.Error{Field: "--pressure", Found: strict.Quote(f.pressure), Want: want}
	}
	if err = errors.Join(append(errs, err)...); err != nil {
		return err
	}
	s.state, s.pressure = state, state.PressureAbs-airOf(s.bench)
	s.known, _ = s.bench.Characterisation(f.model, f.circuit, f.fluid, s.pressure, time.Now())
	return nil
}

// volumesOf lists what a bench file describes.
func volumesOf(b *bench.Bench) string {
	var names []string
	for _, v := range b.Volumes {
		names = append(names, v.Model+" "+v.Circuit)
	}
	if len(names) == 0 {
		return "; the file has none yet"
	}
	return " (it has " + strings.Join(names, ", ") + ")"
}

// volumeOf is the subject's volume, filled.
func volumeOf(s subject) fluid.Volume { return result.VolumeOf(s.from, s.liquid) }
