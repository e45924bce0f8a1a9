package result

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/fluid"
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
)

// LiquidOf returns the liquid of a name as procedures write it: the bench's
// own first, then the table's.
func LiquidOf(b *bench.Bench, name string) (fluid.Liquid, bool) {
	if b != nil {
		if own := b.Fluid(name); own != nil {
			return OwnLiquid(*own), true
		}
	}
	return fluid.Lookup(name)
}

// OwnLiquid is a liquid of a bench's fluids file.
func OwnLiquid(f bench.Fluid) fluid.Liquid {
	given := func(e uncertainty.Estimate) fluid.Parameter {
		return fluid.Parameter{Value: e.Value, U: e.StdUncertainty, Source: f.Source}
	}
	return fluid.FromFigures(fluid.Given{
		Name: f.Name, Reference: f.Reference,
		Range: fluid.Range{
			PressureLow: lowestAir, PressureHigh: fluid.Atmosphere + f.PressureHigh,
			TemperatureLow: f.TemperatureLow, TemperatureHigh: f.TemperatureHigh,
		},
		Density: given(f.Density), Expansion: given(f.Expansion), BulkModulus: given(f.BulkModulus), SpecificHeat: given(f.SpecificHeat),
		Temperatures: [2]float64{f.Viscosity[0].Temperature, f.Viscosity[1].Temperature},
		Viscosities:  [2]fluid.Parameter{given(f.Viscosity[0].Viscosity), given(f.Viscosity[1].Viscosity)},
	})
}

// lowestAir is the pressure, Pa absolute, from which a liquid's figures are
// taken to hold: a low air pressure.
const lowestAir = 0.5e5

// VolumeOf is a volume of the bench file filled with a liquid.
func VolumeOf(v bench.Volume, l fluid.Liquid) fluid.Volume {
	given := func(name string, e uncertainty.Estimate) fluid.Parameter {
		return fluid.Parameter{Name: name, Value: e.Value, U: e.StdUncertainty, Source: v.Source}
	}
	out := fluid.Volume{Liquid: l, Trapped: given("trapped volume", v.Trapped), Air: given("free air", v.Air)}
	out.Body, _ = fluid.LookupMaterial(v.Body)
	for i, t := range v.Tubes {
		name := partName("tube", i, len(v.Tubes))
		material, _ := fluid.LookupMaterial(t.Material)
		out.Tubes = append(out.Tubes, fluid.Tube{
			Material: material, Ends: fluid.Ends(t.Ends), Outside: given(name+"outside diameter", t.Outside),
			Wall: given(name+"wall", t.Wall), Length: given(name+"length", t.Length),
		})
	}
	for i, h := range v.Hoses {
		name := partName("hose", i, len(v.Hoses))
		out.Hoses = append(out.Hoses, fluid.Hose{
			Length: given(name+"length", h.Length), Bore: given(name+"bore", h.Bore), Expansion: given(name+"expansion", h.Expansion), At: h.At,
		})
	}
	return out
}

// partName begins the name of a part's figure: "hose: ", "hose 2: ".
func partName(what string, i, of int) string {
	if of == 1 {
		return what + ": "
	}
	return what + " " + strconv.Itoa(i+1) + ": "
}

// UsualTemperature is what a liquid is taken to have where nothing measures
// it, K.
const UsualTemperature = 293.15

const stiffnessInWords = "stiffness"

// derivation says what was taken from fluid and bench data because no
// characterisation gives it.
type derivation struct {
	// taken are the figures in words; why says why they are not characterised,
	// and failed why nothing could be derived.
	taken       []string
	why, failed string
}

// derived fills in what no characterisation gives of a model's circuit, where
// the bench file describes its volume and the procedure's liquid is known. A
// characterised figure always wins. A lag is never derived.
func derived(known decay.Characterised, b *bench.Bench, p *procedure.Procedure, circuit string, temperature float64, why string) (decay.Characterised, derivation) {
	from := b.Volume(p.Model, circuit)
	l, ok := LiquidOf(b, p.Fluid)
	if from == nil || !ok {
		return known, derivation{}
	}
	d := derivation{why: why}
	v := VolumeOf(*from, l)
	s := fluid.State{PressureAbs: p.TestPressure + AirPressure(b), Temperature: temperature}
	put := func(into **uncertainty.Estimate, name string, f fluid.Figure, err error) {
		switch {
		case *into != nil:
		case err != nil:
			d.failed = err.Error()
		default:
			*into = &f.Estimate
			if name != "" {
				d.taken = append(d.taken, name)
			}
		}
	}
	coefficient, err := v.ThermalCoefficient(s)
	put(&known.ThermalCoefficient, "thermal coefficient", coefficient, err)
	stiffness, err := v.Stiffness(s)
	put(&known.Stiffness, stiffnessInWords, stiffness, err)
	properties, err := l.At(s)
	put(&known.ViscosityChange, "", properties.ViscosityChange, err) // the liquid's alone: no bench can characterise it better
	if w, err := v.Warming(s); err == nil && known.Warming == nil && from.CoolingTime != nil {
		known.Warming = &decay.Warming{Amplitude: w.Rise.Estimate, TimeConstant: *from.CoolingTime}
		d.taken = append(d.taken, "warming by pressurising")
	}
	if len(d.taken) > 0 {
		source := listed(d.taken) + " " + fluid.NotMeasured + " (" + l.Name + "; " + from.Source + ")"
		if known.Source != "" && known.Source != why {
			source = known.Source + "; " + source
		}
		known.Source = source
	}
	return known, d
}

// AirPressure is the bench's air pressure as far as its file states it, Pa
// absolute.
func AirPressure(b *bench.Bench) float64 {
	if p := b.Ambient.Pressure.Value; p > 0 {
		return p
	}
	return fluid.Atmosphere
}

// reason says what was derived, empty where nothing was.
func (d derivation) reason() string {
	switch {
	case d.failed != "":
		return "fluid and bench data say nothing of this volume: " + d.failed
	case len(d.taken) == 0:
		return ""
	case d.why == "":
		return listed(d.taken) + " " + fluid.NotMeasured + ": the characterisation does not have " + itOrThem(d.taken)
	}
	return listed(d.taken) + " " + fluid.NotMeasured + ": " + d.why
}

// advice says what is missing, empty where nothing is.
func (d derivation) advice() string {
	if len(d.taken) == 0 {
		return ""
	}
	return "characterise the " + listed(d.taken) + " of this bench and model: " + fluid.NotMeasured + ", " + itOrThey(d.taken) + " known only roughly"
}

// tell adds to an assessment what was derived, and what would be better. A
// stiffness is worth a word only where a limit rests on it.
func (d derivation) tell(a *analysis.Assessment, limits []verdict.Limit) {
	if !slices.ContainsFunc(limits, func(l verdict.Limit) bool { return l.Quantity == "leak_flow" }) {
		d.taken = slices.DeleteFunc(slices.Clone(d.taken), func(name string) bool { return name == stiffnessInWords })
	}
	if reason := d.reason(); reason != "" {
		a.Reasons = append(a.Reasons, reason)
	}
	if advice := d.advice(); advice != "" && a.Verdict == verdict.Inconclusive {
		a.Advice = append(a.Advice, advice)
	}
}

func itOrThem(taken []string) string {
	if len(taken) == 1 {
		return "it"
	}
	return "them"
}

func itOrThey(taken []string) string {
	if len(taken) == 1 {
		return "it is"
	}
	return "they are"
}

// listed is "a", "a and b", "a, b and c".
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// meanOver is the mean of a column's valid readings between two times, or
// otherwise where there are none.
func meanOver(c series.Column, from, to, otherwise float64) float64 {
	var sum float64
	n := 0
	for _, v := range c.Window(from, to).Value {
		if !math.IsNaN(v) {
			sum += v
			n++
		}
	}
	if n == 0 {
		return otherwise
	}
	return sum / float64(n)
}
