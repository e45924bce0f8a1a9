package fluid

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// airy is the effective bulk modulus (Pa) of a volume that does not give way,
// for a liquid of modulus k with free air, which takes up a share of the volume
// at the pressure (Pa absolute) itself; quick to heat or not.
func airy(t *testing.T, k, share, pressureAbs float64, quick bool) float64 {
	t.Helper()
	v := rigid(exactly(870, 1e-15, k, 1900), 1e-4)
	v.Air.Value = share * pressureAbs / Atmosphere
	s := State{PressureAbs: pressureAbs, Temperature: Celsius(20)}
	var x []float64
	for _, p := range v.parameters() {
		x = append(x, p.Value)
	}
	b := v.balance(x, s)
	if quick {
		return b.trapped / b.quickCompliance()
	}
	return b.trapped / b.compliance()
}

// The effective bulk modulus with free air, every row: computed from the
// definition in 40-digit arithmetic with a numerical derivative (mpmath 1.2.1),
// mark C. The air's share at the pressure is that of the row's mixture,
//
//	x·(p0/p)^(1/n) / (V/V0)
func TestEntrainedAirTable(t *testing.T) {
	table := rows(t, "entrained-air.csv")
	require.Len(t, table, 144)
	for _, row := range table {
		x := func(column string) float64 { return number(t, row[column]) }
		n, pressure := x("n"), Atmosphere+1e5*x("p_gauge_bar")
		require.Contains(t, []float64{1, adiabaticAir}, n)
		share := x("R_air_volume_fraction_at_p0") * math.Pow(Atmosphere/pressure, 1/n) / x("V_over_V0")
		assert.InEpsilon(t, x("K_eff_MPa")*1e6, airy(t, x("K_liquid_Pa"), share, pressure, n != 1), 2e-9, "%v", row)
	}
}

// The same for K 1.5 GPa and 1 % of air (absolute pressures), in GPa: the last
// column of published models (exact polytropic mixture), mark C. Merritt's
// form, little air, differs by less than 0.1 % here, and the form of Nykänen
// et al. (2000) by about 1 % at high pressure.
func TestAirModelsOfTheLiterature(t *testing.T) {
	for _, c := range []struct{ p, n, nykanen, merritt, exact, half float64 }{
		{1e6, 1.0, 0.5869, 0.5920, 0.5921, 0.00005},
		{1e6, 1.4, 0.4795, 0.4831, 0.4832, 0.00005},
		{5e6, 1.4, 1.312, 1.323, 1.3235, 0.0005},
		{10e6, 1.0, 1.463, 1.477, 1.4773, 0.0005},
	} {
		gas := 0.01 * math.Pow(Atmosphere/c.p, 1/c.n)
		liquid := 0.99 * math.Exp(-(c.p-Atmosphere)/1.5e9)
		k := airy(t, 1.5e9, gas/(gas+liquid), c.p, c.n != 1)
		assert.InDelta(t, c.exact, k/1e9, c.half)
		assert.InEpsilon(t, c.merritt, k/1e9, 0.001)
		assert.InEpsilon(t, c.nykanen, k/1e9, 0.012)
	}
}

// 1 % of air that dissolves at 100 bar absolute in a rigid volume of 1.5 GPa
// costs x·p0/p·K = 1.50 bar with p0 one bar (1.52 bar with one atmosphere);
// mark C.
func TestAirThatDissolvesLooksLikeALeak(t *testing.T) {
	v := rigid(exactly(870, 7e-4, 1.5e9, 1900), 1e-4)
	loss, err := v.Dissolving(0.01, State{PressureAbs: 100e5, Temperature: Celsius(20)})
	require.NoError(t, err)
	assert.InDelta(t, 1.50e5, loss.Value*1e5/Atmosphere, 0.005e5)
	assert.InEpsilon(t, Atmosphere*(1+0.01/0.09), SaturationPressure(0.01, 0.09), 1e-12)
	assert.True(t, math.IsNaN(SaturationPressure(0.01, 0)))
}
