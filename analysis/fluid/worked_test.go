package fluid

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
)

// Worked examples as printed in a public component handbook and a public
// design text (mark V, recomputed C): pressure rise of trapped liquid in a
// rigid vessel, volume to let out, volume change under pressure.
func TestTrappedFluidWorkedExamples(t *testing.T) {
	const psi = 6894.757293168361
	table := rows(t, "trapped-fluid-worked.csv")
	require.Len(t, table, 4)
	fahrenheit := 5.0 / 9
	v := rigid(exactly(850, 0.00046/fahrenheit, 300000*psi, 2000), 1e-3)
	s := State{PressureAbs: Atmosphere, Temperature: Celsius(21.11)}
	b, err := v.ThermalCoefficient(s)
	require.NoError(t, err)
	assert.InDelta(t, number(t, table[0]["printed"]), b.Value*50*fahrenheit/psi, 0.5, "psi for 50 °F")

	stiffness, err := v.Stiffness(s)
	require.NoError(t, err)
	out := b.Value * 50 * fahrenheit / stiffness.Value / 1e-3 * 100
	assert.InDelta(t, number(t, table[1]["printed"]), out, 0.05, "in³ of 100 in³")

	assert.InDelta(t, number(t, table[2]["printed"]), 100*3000*psi*1e-3/(stiffness.Value*1e-3*1e-3), 0.05, "% for 3000 psi")

	// Mineral oil, 90 psi/°F as a rule: within the uncertainty of the table's
	// oils.
	oil, ok := Lookup("mineral hydraulic oil ISO VG 32")
	require.True(t, ok)
	p, err := oil.At(State{PressureAbs: Atmosphere, Temperature: Celsius(20)})
	require.NoError(t, err)
	assert.InDelta(t, number(t, table[3]["printed"])*1e5, p.ThermalCoefficient.Value, p.ThermalCoefficient.StdUncertainty)
}

// What publications say of brake fluids and oils, each with its own word on
// how far it can be believed (mostly marks M and second-hand): the table's
// figures lie within, with 95 % intervals that reach over most of the range.
func TestTypicalFiguresLieWithinWhatIsPublished(t *testing.T) {
	s := State{PressureAbs: Atmosphere, Temperature: Celsius(20)}
	scale := map[string]float64{"kg/m3": 1, "1/K": 1, "GPa": 1e9, "kJ/(kg K)": 1e3, "bar/K": 1e5}
	checked := 0
	for _, row := range rows(t, "hydraulic-fluids.csv") {
		name := map[string]string{
			"brake fluid (glycol ether)": "DOT 4", "mineral hydraulic oil": "ISO VG 32", "mineral hydraulic oil ISO VG 32-46": "ISO VG 46",
		}[row["fluid"]]
		k, known := scale[row["unit"]]
		if name == "" || !known || row["low"] == row["high"] {
			continue
		}
		l, ok := Lookup(name)
		require.True(t, ok)
		p, err := l.At(s)
		require.NoError(t, err)
		f, ok := map[string]Figure{
			"density": p.Density, "bulk modulus, isothermal": p.BulkModulus, "bulk modulus": p.BulkModulus,
			"thermal expansion, volume": p.Expansion, "specific heat": p.SpecificHeat, "isochoric pressure coefficient alpha*K": p.ThermalCoefficient,
		}[row["property"]]
		if !ok {
			continue
		}
		low, high := k*number(t, row["low"]), k*number(t, row["high"])
		assert.GreaterOrEqual(t, f.Value, low, "%s, %s", row["fluid"], row["property"])
		assert.LessOrEqual(t, f.Value, high, "%s, %s", row["fluid"], row["property"])
		from, to := f.Interval(0.95)
		assert.Greater(t, (math.Min(to, high)-math.Max(from, low))/(high-low), 0.6, "%s, %s: too sure", row["fluid"], row["property"])
		checked++
	}
	assert.GreaterOrEqual(t, checked, 9)
}

// 49 CFR 571.116 (FMVSS 116): brake fluids flow within its bounds at −40 and
// 100 °C (mark V); plausibility only.
func TestBrakeFluidsKeepTheRegulationsBounds(t *testing.T) {
	bounds := map[string]map[string]string{}
	for _, row := range rows(t, "brake-fluid-fmvss116.csv") {
		bounds[row["grade"]] = row
	}
	for _, c := range brakeClasses {
		row := bounds[c.name]
		require.NotNil(t, row, c.name)
		assert.Equal(t, number(t, row["viscosity_max_mm2_s_at_minus_40C"]), c.limit)
		l := c.liquid()
		cold, err := l.At(State{PressureAbs: Atmosphere, Temperature: Celsius(-40)})
		require.NoError(t, err)
		assert.Less(t, cold.Viscosity.Value+cold.Viscosity.StdUncertainty, 1e-6*c.limit)
		hot, err := l.At(State{PressureAbs: Atmosphere, Temperature: Celsius(100)})
		require.NoError(t, err)
		assert.Greater(t, hot.Viscosity.Value-hot.Viscosity.StdUncertainty, 1e-6*number(t, row["viscosity_min_mm2_s_at_100C"]))
	}
}

// A leak flow by hand, mark C: 0.5 bar/min out of 100 mL with K 1.4 GPa is 3.57
// mm³/min, 0.057 drops/min of 16 a mL.
func TestLeakFlowByHand(t *testing.T) {
	v := rigid(exactly(870, 7e-4, 1.4e9, 1900), 100e-6)
	flow := 0.5e5 / 60 * 100e-6 / 1.4e9
	assert.InDelta(t, 3.57, flow*60e9, 0.005)
	assert.InDelta(t, 0.057, flow*60/DropFactors[0].Drop(), 0.0005)
	rate, err := v.RateOf(flow, State{PressureAbs: Atmosphere, Temperature: Celsius(20)})
	require.NoError(t, err)
	assert.InEpsilon(t, 0.5e5/60, rate.Value, 1e-6)
	assert.Equal(t, si.PressureRate, rate.Quantity)
}
