package fluid

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Water against IAPWS-95 (R6-95(2018)), 0 to 100 °C, 0.1 to 20 MPa. Mark C:
// computed with python3-iapws 1.5.3. The accuracy is that which water.go
// states, and each figure lies within its own uncertainty.
func TestWaterAgreesWithIAPWS95(t *testing.T) {
	water, ok := Lookup("water")
	require.True(t, ok)
	table := rows(t, "water-table.csv")
	require.Len(t, table, 127)
	worst := map[string]float64{}
	for _, row := range table {
		x := func(column string) float64 { return number(t, row[column]) }
		p, err := water.At(State{PressureAbs: x("p_MPa") * 1e6, Temperature: Celsius(x("t_C"))})
		require.NoError(t, err)
		where := row["t_C"] + " °C, " + row["p_MPa"] + " MPa"
		for _, c := range []struct {
			name       string
			got        Figure
			want, most float64
		}{
			{"density", p.Density, x("rho_kg_per_m3"), 20e-6 * x("rho_kg_per_m3")},
			{"compressibility", p.BulkModulus, 1e9 / x("kappa_T_per_GPa"), 4e-4 * 1e9 / x("kappa_T_per_GPa")},
			{"modulus", p.BulkModulus, x("K_T_MPa") * 1e6, 4e-4 * x("K_T_MPa") * 1e6},
			{"expansion", p.Expansion, x("alpha_1e6_per_K") * 1e-6, 0.6e-6},
			{"specific heat", p.SpecificHeat, x("cp_kJ_per_kgK") * 1e3, 7e-4 * x("cp_kJ_per_kgK") * 1e3},
			{"alpha K", p.ThermalCoefficient, x("dpdT_v_bar_per_K") * 1e5, 0.6e-6*x("K_T_MPa")*1e6 + 4e-4*math.Abs(x("dpdT_v_bar_per_K")*1e5)},
			{"K_S/K_T", p.AdiabaticRatio, x("K_S_MPa") / x("K_T_MPa"), 2e-4},
		} {
			off := math.Abs(c.got.Value - c.want)
			assert.LessOrEqual(t, off, c.most, "%s at %s", c.name, where)
			// Where water does not expand, γ − 1 is a square: a budget that is
			// linear does not see the last 1e-5 of it.
			if c.name != "K_S/K_T" || c.want > 1+1e-5 {
				assert.LessOrEqual(t, off, 2*c.got.StdUncertainty, "%s at %s: outside its own claim", c.name, where)
			}
			worst[c.name] = max(worst[c.name], off/c.most)
			worst[c.name+" in u"] = max(worst[c.name+" in u"], off/c.got.StdUncertainty)
		}
	}
	t.Log(worst)
	for name, share := range worst {
		assert.Greater(t, share, 0.3, "%s: the stated accuracy is uselessly wide", name)
	}
}

// Water at 20 °C, IAPWS SR6-08(2011) and R12-08: 1.0016 mPa·s, mark M.
func TestWaterViscosity(t *testing.T) {
	mu, change := waterViscosity(Celsius(20))
	assert.InDelta(t, 1.0016e-3, mu, 0.00005e-3)
	up, _ := waterViscosity(Celsius(20.01))
	down, _ := waterViscosity(Celsius(19.99))
	assert.InEpsilon(t, math.Log(up/down)/0.02, change, 1e-6)
}

// The relations between moduli and heating, worked with IAPWS-95 by two
// routes (mark C): the columns of the file computed from its own others.
func TestThermodynamicRelations(t *testing.T) {
	for _, row := range rows(t, "thermodynamic-relations.csv") {
		x := func(column string) float64 { return number(t, row[column]) }
		p := point{
			density: x("rho_kg_per_m3"), expansion: x("alpha_1e6_per_K") * 1e-6, modulus: x("K_T_MPa") * 1e6,
			specificHeat: x("cp_kJ_per_kgK") * 1e3,
		}
		temperature := Celsius(x("t_C"))
		assert.InEpsilon(t, x("K_S_from_sound_MPa")*1e6, p.modulus*p.adiabaticRatio(temperature), 1e-7)
		assert.InEpsilon(t, x("adiabatic_mK_per_bar")*1e-8, p.rise(temperature), 1e-7)
		assert.InEpsilon(t, x("isochoric_bar_per_K")*1e5, p.expansion*p.modulus, 1e-7)
	}
}
