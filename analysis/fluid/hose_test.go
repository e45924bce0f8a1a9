package fluid

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// One metre of hose at 0.66 cc/ft at 1000 psi (49 CFR 571.106 Table I, mark
// M) with oil of 7e-4 1/K and 1.5 GPa: 3.1406e-13 m³/Pa per metre, an apparent
// modulus of 24.8 MPa and 0.17 bar/K; the oil alone 5.3e-15 m³/Pa. Mark C, for
// a bore of 1/8 inch.
func TestOneMetreOfTheSoftestHose(t *testing.T) {
	h := RegulationHose()
	assert.InDelta(t, 3.1406e-13, h.Expansion.Value/h.At, 0.00005e-13)
	h.Bore.Value, h.Length.U, h.Expansion.U = 0.0254/8, 0, 0
	v := rigid(exactly(870, 7e-4, 1.5e9, 1900), h.Volume())
	v.Hoses = []Hose{h}
	s := State{PressureAbs: Atmosphere, Temperature: Celsius(20)}
	k, err := v.EffectiveModulus(s)
	require.NoError(t, err)
	assert.InDelta(t, 24.8e6, k.Value, 0.05e6)
	b, err := v.ThermalCoefficient(s)
	require.NoError(t, err)
	assert.InDelta(t, 0.17e5, b.Value, 0.005e5)
	assert.InDelta(t, 5.3e-15, h.Volume()/1.5e9, 0.05e-15)
}

// It is as soft as 0.47 L of oil: 50 mL behind it lose a factor of about nine
// of their thermal coefficient and of their stiffness, 100 mL one of five to
// six.
func TestAMetreOfHoseSoftensASmallVolume(t *testing.T) {
	for volume, factor := range map[float64]float64{50e-6: 1 + 470.0/50, 100e-6: 1 + 470.0/100} {
		change, err := rigid(exactly(870, 7e-4, 1.5e9, 1900), volume).MoreHose(RegulationHose(), State{PressureAbs: Atmosphere, Temperature: Celsius(20)})
		require.NoError(t, err)
		assert.InEpsilon(t, 1/factor, change.Stiffness.Value, 0.02)
		assert.Greater(t, change.ThermalCoefficient.Value, change.Stiffness.Value, "the hose's own oil expands too")
		assert.InEpsilon(t, 1/factor, change.ThermalCoefficient.Value, 0.20)
	}
}

// Law: no row of the table is softer than its class's first, and something
// softer is not plausible.
func TestPlausibleHoses(t *testing.T) {
	bores := map[string]float64{"1/8 in or 3 mm or less": 3.0e-3, "over 1/8 in or 3 mm up to 3/16 in or 5 mm": 4.8e-3, "over 3/16 in or 5 mm": 6.3e-3}
	table := rows(t, "fmvss106-expansion.csv")
	require.Len(t, table, 16)
	for _, row := range table {
		h := Hose{Bore: Parameter{Value: bores[row["inside_diameter"]]}, Expansion: Parameter{Value: number(t, row["max_cc_per_ft"]) * 1e-6 / 0.3048}, At: number(t, row["test_pressure_bar"]) * 1e5}
		require.Positive(t, h.Bore.Value)
		assert.True(t, h.Plausible(), row)
		h.Expansion.Value *= 3.3 // the stiffest kind and pressure as well
		assert.False(t, h.Plausible(), row)
	}
	assert.False(t, Hose{Bore: Parameter{Value: 3e-3}, Expansion: Parameter{Value: 1}, At: 0}.Plausible())
}

// Bounds of 49 CFR 571.106 Table I (mostly mark M): for plausibility, no hose
// as softer than they; the one that is printed as the softest is among them.
func TestRegulationHoseIsARowOfTheTable(t *testing.T) {
	found := false
	for _, row := range rows(t, "fmvss106-expansion.csv") {
		if row["test_pressure_psi"] == "1000" && row["hose"] == "regular" && row["max_cc_per_ft"] == "0.66" {
			found = true
			assert.InDelta(t, number(t, row["max_mL_per_m"]), RegulationHose().Expansion.Value*1e6, 0.00005)
			assert.InDelta(t, number(t, row["test_pressure_bar"]), RegulationHose().At/1e5, 0.00005)
		}
	}
	assert.True(t, found)
}
