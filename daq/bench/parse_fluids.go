package bench

import (
	"fmt"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// AttachFluids reads the text of a fluids file into the bench, in place of
// what was there; path is used in messages only. The error joins one
// *strict.Error for each fault; the bench is then unchanged.
func (b *Bench) AttachFluids(path string, text []byte) error {
	root, faults := strict.ParseTOML(path, text)
	if root == nil {
		return faults.Err()
	}
	var all []Fluid
	names := map[string]int{}
	for _, t := range root.Required("fluid").Tables() {
		all = append(all, fluid(t, names))
	}
	root.Close()
	if err := faults.Err(); err != nil {
		return err
	}
	b.Fluids = all
	b.FluidsText, b.FluidsHash = string(text), strict.Hash(text)
	return nil
}

func fluid(t *strict.Table, names map[string]int) Fluid {
	k := t.Required("name")
	f := Fluid{
		Name: unique(k, "name", k.Text(), names), Source: t.Required("source").Text(),
		Reference: t.Required("temperature").Quantity(si.Temperature), Line: t.Line(),
		Density: above(t.Required("density"), si.Density), Expansion: above(t.Required("expansion"), si.PerKelvin),
		SpecificHeat: above(t.Required("specific_heat"), si.SpecificHeat),
	}
	modulus := t.Required("bulk_modulus")
	f.BulkModulus = above(modulus, si.BulkModulus)
	if f.BulkModulus.Value < lowestModulus || f.BulkModulus.Value > highestModulus {
		modulus.Fault(modulus.Found(), "a bulk modulus from 0.2 GPa to 10 GPa")
	}
	f.Viscosity = viscosities(t.Required("viscosity"))
	f.TemperatureLow, f.TemperatureHigh = t.Required("temperature_range").Range(si.Temperature)
	f.PressureHigh = t.Required("max_pressure").Positive(si.Pressure)
	return f
}

// No liquid of a hydraulic bench is softer or stiffer, Pa: own bounds, against
// slips of the unit.
const lowestModulus, highestModulus = 0.2e9, 10e9

// lowestViscosity: the law that joins the two has no figures below it, m²/s.
const lowestViscosity = 0.4e-6

// viscosities reads two pairs of temperature and viscosity, falling.
func viscosities(k strict.Key) (out [2]FluidViscosity) {
	const want = `two pairs of temperature and viscosity, e.g. [["40 °C", "32 ± 2 mm²/s"], ["100 °C", "5.4 ± 0.3 mm²/s"]]`
	first, second, ok := k.Pair("item 1", "item 2", want)
	if !ok {
		return out
	}
	for i, item := range []strict.Key{first, second} {
		temperature, viscosity, ok := item.Pair("temperature", "viscosity", `temperature and viscosity, e.g. ["40 °C", "32 ± 2 mm²/s"]`)
		if !ok {
			return out
		}
		out[i] = FluidViscosity{Temperature: temperature.Quantity(si.Temperature), Viscosity: above(viscosity, si.Viscosity)}
		switch v := out[i].Viscosity; {
		case v.Value < lowestViscosity:
			viscosity.Fault(viscosity.Found(), fmt.Sprintf("at least %g mm²/s", lowestViscosity*1e6))
		case v.StdUncertainty > v.Value/4:
			viscosity.Fault(viscosity.Found(), "a standard uncertainty of at most a quarter of the value")
		}
	}
	if out[1].Temperature <= out[0].Temperature || out[1].Viscosity.Value >= out[0].Viscosity.Value {
		k.Fault(k.Found(), "the warmer one last, and thinner than the first")
	}
	return out
}
