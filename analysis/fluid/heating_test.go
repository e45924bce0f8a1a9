package fluid

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Adiabatic heating, worked by hand from ΔT = T·α·Δp/(ρ·c_p): water 293.15 K
// and 10 MPa with 2.07e-4 1/K, 998.2 kg/m³ and 4184 J/(kg K); oil 313.15 K with
// 7e-4, 870 and 1900. Mark C.
func TestHeatingOfWaterAndOil(t *testing.T) {
	for _, c := range []struct {
		expansion, density, heat, temperature, want, half float64
	}{
		{2.07e-4, 998.2, 4184, 293.15, 0.1453, 0.00005},
		{7e-4, 870, 1900, 313.15, 1.326, 0.0005},
	} {
		p := point{density: c.density, expansion: c.expansion, specificHeat: c.heat}
		assert.InDelta(t, c.want, p.rise(c.temperature)*10e6, c.half)
		assert.InDelta(t, c.want, warmed(func(State) point { return p }, Atmosphere, Atmosphere+10e6, c.temperature), c.half)
	}
}

// The same oil with K 1.5 GPa, pumped to 100 bar in a rigid volume: γ 1.1618,
// and 13.9 bar go while it cools, with no leak. Mark C.
func TestOilPumpedUpLosesPressureWithoutALeak(t *testing.T) {
	// ρ and c_p at 313.15 K; the expansion acts on the density only.
	l := exactly(870, 7e-4, 1.5e9, 1900)
	l.law = plainLiquid(313.15, Celsius(40), Celsius(100))
	v := rigid(l, 100e-6)
	s := State{PressureAbs: Atmosphere + 100e5, Temperature: 313.15}
	w, err := v.Warming(s)
	require.NoError(t, err)
	p, err := l.At(State{PressureAbs: Atmosphere, Temperature: 313.15})
	require.NoError(t, err)
	assert.InDelta(t, 1.1618, p.AdiabaticRatio.Value, 0.00005)
	quick, err := v.QuickRatio(State{PressureAbs: Atmosphere, Temperature: 313.15})
	require.NoError(t, err)
	assert.InDelta(t, 1.1618, quick.Value, 0.00005)
	assert.InDelta(t, 13.9e5, w.Decay.Value, 0.05e5)
	// The density grows by 0.7 % under the pressure, which the hand leaves out.
	assert.InEpsilon(t, 1.326, w.Rise.Value, 0.005)
}
