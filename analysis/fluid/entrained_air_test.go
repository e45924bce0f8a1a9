package fluid

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The effective bulk modulus with free air, every row: computed from the
// definition in 40-digit arithmetic with a numerical derivative (mpmath 1.2.1),
// mark C.
func TestEntrainedAirTable(t *testing.T) {
	table := rows(t, "entrained-air.csv")
	require.Len(t, table, 144)
	for _, row := range table {
		x := func(column string) float64 { return number(t, row[column]) }
		air := Air{Share: x("R_air_volume_fraction_at_p0"), Exponent: x("n")}
		volume, k := air.Mixture(x("K_liquid_Pa"), Atmosphere+1e5*x("p_gauge_bar"))
		assert.InEpsilon(t, x("V_over_V0"), volume, 1e-11, "%v", row)
		assert.InEpsilon(t, x("K_eff_MPa")*1e6, k, 2e-9, "%v", row)
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
		_, k := Air{Share: 0.01, Exponent: c.n}.Mixture(1.5e9, c.p)
		assert.InDelta(t, c.exact, k/1e9, c.half)
		assert.InEpsilon(t, c.merritt, k/1e9, 0.001)
		assert.InEpsilon(t, c.nykanen, k/1e9, 0.012)
	}
}

// 1 % of air that dissolves at 100 bar absolute in a rigid volume of 1.5 GPa
// costs x·p0/p·K = 1.50 bar with p0 one bar (1.52 bar with one atmosphere);
// mark C.
func TestAirThatDissolvesLooksLikeALeak(t *testing.T) {
	loss := Air{Share: 0.01, Exponent: Isothermal}.DissolvingLoss(1.5e9, 100e5)
	assert.InDelta(t, 1.50e5, loss*1e5/Atmosphere, 0.005e5)
	v := rigid(exactly(870, 7e-4, 1.5e9, 1900), 1e-4)
	figure, err := v.Dissolving(0.01, State{PressureAbs: 100e5, Temperature: Celsius(20)})
	require.NoError(t, err)
	assert.InEpsilon(t, loss, figure.Value, 1e-6)
	assert.InEpsilon(t, Atmosphere*(1+0.01/0.09), SaturationPressure(0.01, 0.09), 1e-12)
	assert.True(t, math.IsNaN(SaturationPressure(0.01, 0)))
}
