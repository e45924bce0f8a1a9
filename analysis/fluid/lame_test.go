package fluid

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// brakeTube is 4.75 × 0.70 mm of steel, E 207 GPa, ν 0.3.
func brakeTube(e Ends) bore {
	return bore{outer: 4.75e-3 / 2, inner: 4.75e-3/2 - 0.70e-3, young: 207e9, poisson: 0.3, ends: e}
}

// Lamé's thick cylinder, computed from the formulas in general software, mark
// C; thin wall, closed: (2r/Et)(5/4 − ν) with the mean radius.
func TestBrakeTubeAfterLame(t *testing.T) {
	for ends, want := range map[Ends]float64{EndsFree: 3.0728e-11, EndsOpen: 3.1684e-11, EndsFixed: 2.9963e-11} {
		assert.InDelta(t, want, brakeTube(ends).compliance(), 0.00005e-11, "%s", ends)
	}
	k := 1 / (1/1.5e9 + brakeTube(EndsFree).compliance())
	assert.InDelta(t, 1.4339e9, k, 0.00005e9)
	mean := (4.75 - 0.70) / 2 * 1e-3
	assert.InDelta(t, 2.655e-11, 2*mean/(207e9*0.70e-3)*(1.25-0.3), 0.0005e-11)
}

// Laws: the thicker the wall, the stiffer; held lengthways stiffer than free;
// a thin wall goes over into the thin formula.
func TestTubeLaws(t *testing.T) {
	for _, e := range AllEnds {
		last := math.Inf(1)
		for wall := 0.1e-3; wall < 10e-3; wall *= 1.3 {
			c := bore{inner: 2e-3, outer: 2e-3 + wall, young: 207e9, poisson: 0.3, ends: e}.compliance()
			assert.Less(t, c, last)
			last = c
		}
		// An infinite block: 2(1+ν)/E, whatever its ends.
		assert.InEpsilon(t, 2*1.3/207e9, bore{inner: 1e-3, outer: 1, young: 207e9, poisson: 0.3, ends: e}.compliance(), 1e-5, "%s", e)
	}
	thin := bore{inner: 1 - 5e-6, outer: 1 + 5e-6, young: 207e9, poisson: 0.3}
	assert.InEpsilon(t, 2/(207e9*1e-5)*(1.25-0.3), thin.compliance(), 1e-4)
}

// Steel pipe 273.05 × 7.09 mm full of water (β 2.07e-4, K 2.18 GPa; α 11.7e-6,
// E 207 GPa, ν 0.3), thin wall: free ends (β − 3α)/[1/K + (D/Et)(5/4 − ν)] =
// 2.7248 bar/K, held lengthways (β − 2(1+ν)α)/[1/K + (D/Et)(1 − ν²)] = 2.8315
// bar/K; formulas mark M, figures mark C. The thick wall differs from the thin
// one by the order of wall over radius.
func TestPipeFullOfWater(t *testing.T) {
	const beta, k, od, wall, alpha, young, nu = 2.07e-4, 2.18e9, 273.05e-3, 7.09e-3, 11.7e-6, 207e9, 0.3
	d := od - wall
	thin := map[Ends]float64{EndsFree: d / (young * wall) * (1.25 - nu), EndsFixed: d / (young * wall) * (1 - nu*nu)}
	for ends, want := range map[Ends]float64{EndsFree: 2.7248e5, EndsFixed: 2.8315e5} {
		b := bore{inner: od/2 - wall, outer: od / 2, young: young, poisson: nu, ends: ends}
		byHand := (beta - b.expansion(alpha)) / (1/k + thin[ends])
		assert.InDelta(t, want, byHand, 0.00005e5, "%s", ends)

		volume := rigid(exactly(998.2, beta, k, 4184), 1)
		volume.Body = Material{Name: "nothing", Young: Parameter{Value: 1e30}}
		volume.Tubes = []Tube{{
			Material: Material{Young: Parameter{Value: young}, Expansion: Parameter{Value: alpha}, Poisson: nu}, Ends: ends,
			Outside: Parameter{Value: od}, Wall: Parameter{Value: wall}, Length: Parameter{Value: 1 / (math.Pi * b.inner * b.inner)},
		}}
		got, err := volume.ThermalCoefficient(State{PressureAbs: Atmosphere, Temperature: Celsius(20)})
		require.NoError(t, err)
		assert.InEpsilon(t, want, got.Value, 0.01, "%s", ends)
		// The difference is the wall's, not a slip: exact with Lamé's figure.
		assert.InEpsilon(t, (beta-b.expansion(alpha))/(1/k+b.compliance()), got.Value, 1e-6, "%s", ends)
	}
}

// Mineral oil (7e-4 1/K, 1.5 GPa) in a rigid vessel 10.5 bar/K; in the tube
// above, thin wall, ends free, 9.59 bar/K. Mark C.
func TestOilInTheBrakeTube(t *testing.T) {
	got, err := rigid(exactly(870, 7e-4, 1.5e9, 1900), 1e-5).ThermalCoefficient(State{PressureAbs: Atmosphere, Temperature: Celsius(20)})
	require.NoError(t, err)
	assert.InEpsilon(t, 10.5e5, got.Value, 1e-6)
	mean := (4.75 - 0.70) / 2 * 1e-3
	thin := 2 * mean / (207e9 * 0.70e-3) * (1.25 - 0.3)
	assert.InDelta(t, 9.59e5, (7e-4-brakeTube(EndsFree).expansion(11.7e-6))/(1/1.5e9+thin), 0.005e5)
}
