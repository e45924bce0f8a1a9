package fluid

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// own is a user's liquid, so that the laws are held to it as well.
func own() Liquid {
	p := func(x float64) Parameter { return Parameter{Value: x, U: 0.03 * x, Source: "data sheet (invented)"} }
	return FromFigures(Given{
		Name: "own", Reference: Celsius(15), Range: Range{0.9e5, 300e5, Celsius(-10), Celsius(80)},
		Density: p(920), Expansion: p(7.5e-4), BulkModulus: p(1.9e9), SpecificHeat: p(1850),
		Temperatures: [2]float64{Celsius(0), Celsius(60)}, Viscosities: [2]Parameter{p(120e-6), p(14e-6)},
	})
}

// states spread over a liquid's range, its corners among them.
func states(r Range) (out []State) {
	for i := range 5 {
		for j := range 5 {
			out = append(out, State{
				PressureAbs: r.PressureLow + (r.PressureHigh-r.PressureLow)*float64(i)/4,
				Temperature: r.TemperatureLow + (r.TemperatureHigh-r.TemperatureLow)*float64(j)/4,
			})
		}
	}
	return out
}

func everyFigure(p Properties) map[string]Figure {
	return map[string]Figure{
		"density": p.Density, "expansion": p.Expansion, "bulk modulus": p.BulkModulus, "specific heat": p.SpecificHeat,
		"viscosity": p.Viscosity, "viscosity change": p.ViscosityChange, "αK": p.ThermalCoefficient, "γ": p.AdiabaticRatio,
	}
}

// Laws over every row of the table: whatever is physical is above zero, every
// figure has an uncertainty and a source, its budget adds up, and outside the
// range there is a reason and no figure.
func TestEveryLiquid(t *testing.T) {
	for _, l := range append(Table(), own()) {
		for _, p := range l.Parameters {
			assert.NotEmpty(t, p.Name, l.Name)
			assert.NotEmpty(t, p.Source, "%s: %s", l.Name, p.Name)
			assert.Positive(t, p.U, "%s: %s", l.Name, p.Name)
		}
		assert.NotEmpty(t, l.AirSolubility.Source, l.Name)
		for _, s := range states(l.Range) {
			p, err := l.At(s)
			require.NoError(t, err)
			for name, f := range everyFigure(p) {
				assert.Positive(t, f.StdUncertainty, "%s: %s at %v", l.Name, name, s)
				assert.NotEmpty(t, f.Source, "%s: %s", l.Name, name)
				u, dof := f.Budget.Combined()
				assert.Equal(t, f.StdUncertainty, u)
				assert.Equal(t, f.DegreesOfFreedom, dof)
				for _, line := range f.Budget {
					assert.NotEmpty(t, line.Note, "%s: %s: %s", l.Name, name, line.Source)
				}
			}
			for _, f := range []Figure{p.Density, p.BulkModulus, p.SpecificHeat, p.Viscosity} {
				assert.Positive(t, f.Value, "%s at %v", l.Name, s)
			}
			assert.Negative(t, p.ViscosityChange.Value, "%s at %v: thicker when warmer", l.Name, s)
			assert.GreaterOrEqual(t, p.AdiabaticRatio.Value, 1.0)
			if l.Family != "water" { // which shrinks below 4 °C
				assert.Positive(t, p.Expansion.Value, "%s at %v", l.Name, s)
			}
		}
		outside := []State{
			{l.Range.PressureHigh * 1.01, Celsius(20)}, {math.NaN(), Celsius(20)},
			{2e5, l.Range.TemperatureHigh + 1}, {2e5, l.Range.TemperatureLow - 1}, {2e5, math.NaN()},
		}
		for _, s := range outside {
			_, err := l.At(s)
			var fault *RangeError
			require.ErrorAs(t, err, &fault, "%s at %v", l.Name, s)
			assert.Contains(t, err.Error(), l.Name+": nothing is known at ")
			_, err = crane(l).ThermalCoefficient(s)
			require.ErrorAs(t, err, &fault)
		}
	}
}

// Laws: modulus, density and expansion belong together:
// K = ρ·dp/dρ, α = −dlnρ/dT, ∂α/∂p = −∂(1/K)/∂T; a liquid's thinning is the
// derivative of its viscosity and density.
func TestPropertiesBelongTogether(t *testing.T) {
	for _, l := range append(Table(), own()) {
		x := make([]float64, len(l.Parameters))
		for i, p := range l.Parameters {
			x[i] = p.Value
		}
		for _, s := range states(l.Range) {
			at := func(dp, dT float64) point { return l.law(x, State{s.PressureAbs + dp, s.Temperature + dT}) }
			const dp, dT = 1e4, 0.02
			p := at(0, 0)
			assert.InEpsilon(t, p.modulus, 2*dp/math.Log(at(dp, 0).density/at(-dp, 0).density), 1e-6, "%s at %v", l.Name, s)
			assert.InDelta(t, p.expansion, -math.Log(at(0, dT).density/at(0, -dT).density)/(2*dT), 3e-9, "%s at %v", l.Name, s)
			assert.InDelta(t, (at(dp, 0).expansion-at(-dp, 0).expansion)/(2*dp), -(1/at(0, dT).modulus-1/at(0, -dT).modulus)/(2*dT), 1e-15, "%s at %v", l.Name, s)
			mu := func(q point, dT float64) float64 {
				return q.viscosity * l.law(x, State{Atmosphere, s.Temperature + dT}).density
			}
			slope := math.Log(mu(at(0, dT), dT)/mu(at(0, -dT), -dT)) / (2 * dT)
			assert.InEpsilon(t, slope, p.thinning, 1e-4, "%s at %v", l.Name, s)
		}
	}
}

// Walther's line goes through its two points.
func TestViscosityGoesThroughItsPoints(t *testing.T) {
	for _, g := range oilGrades {
		l := g.liquid()
		for celsius, want := range map[float64]float64{40: float64(g.grade) * 1e-6} {
			p, err := l.At(State{Atmosphere, Celsius(celsius)})
			require.NoError(t, err)
			assert.InEpsilon(t, want, p.Viscosity.Value, 1e-12)
		}
		w := waltherThrough(Celsius(40), float64(g.grade)*1e-6, Celsius(100), g.at100*1e-6)
		assert.InEpsilon(t, g.at100*1e-6, w.viscosity(Celsius(100)), 1e-12)
	}
}

// Names as procedures write them, and no name for two liquids.
func TestLookupForgivesCaseAndBlanks(t *testing.T) {
	for text, want := range map[string]string{
		"mineral hydraulic oil ISO VG 32":   "mineral hydraulic oil ISO VG 32",
		" Mineral  Hydraulic Oil ISO-VG 32": "mineral hydraulic oil ISO VG 32",
		"iso vg46":                          "mineral hydraulic oil ISO VG 46",
		"HLP 46":                            "mineral hydraulic oil ISO VG 46",
		"DOT4":                              "brake fluid DOT 4",
		"Brake fluid, DOT 5.1":              "brake fluid DOT 5.1",
		"WATER":                             "water",
	} {
		l, ok := Lookup(text)
		require.True(t, ok, text)
		assert.Equal(t, want, l.Name, text)
	}
	for _, text := range []string{"", "  ", "DOT 5", "DOT 51", "oil", "ISO VG 320"} {
		_, ok := Lookup(text)
		assert.False(t, ok, text)
	}
	taken := map[string]string{}
	for _, l := range Table() {
		for _, name := range append([]string{l.Name}, l.Aliases...) {
			other, ok := taken[plain(name)]
			assert.False(t, ok && other != l.Name, "%q is %s and %s", name, l.Name, other)
			taken[plain(name)] = l.Name
		}
	}
}
