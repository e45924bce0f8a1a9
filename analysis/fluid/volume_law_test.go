package fluid

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"holdbench/analysis/uncertainty"
)

// figures are all that is said of a volume.
func figures(t *testing.T, v Volume, s State) map[string]Figure {
	t.Helper()
	out := map[string]Figure{}
	add := func(name string) func(Figure, error) {
		return func(f Figure, err error) {
			require.NoError(t, err)
			out[name] = f
		}
	}
	add("B")(v.ThermalCoefficient(s))
	add("stiffness")(v.Stiffness(s))
	add("effective modulus")(v.EffectiveModulus(s))
	add("quick ratio")(v.QuickRatio(s))
	add("pumped in")(v.PumpedIn(s))
	add("rate")(v.RateOf(1e-6/60, s))
	add("dissolving")(v.Dissolving(0.01, s))
	w, err := v.Warming(s)
	add("rise")(w.Rise, err)
	add("decay")(w.Decay, err)
	out["saturation"] = v.Saturation()
	c, err := v.MoreAir(0.01, s)
	add("air on B")(c.ThermalCoefficient, err)
	add("air on stiffness")(c.Stiffness, err)
	c, err = v.MoreHose(RegulationHose(), s)
	add("hose on B")(c.ThermalCoefficient, err)
	add("hose on stiffness")(c.Stiffness, err)
	return out
}

// Laws over every liquid: each figure of a volume is above zero, has an
// uncertainty, a budget that adds up and a source that says "not measured".
func TestEveryFigureOfAVolume(t *testing.T) {
	for _, l := range append(Table(), own()) {
		for name, f := range figures(t, crane(l), at100bar) {
			assert.Positive(t, f.Value, "%s: %s", l.Name, name)
			assert.Positive(t, f.StdUncertainty, "%s: %s", l.Name, name)
			assert.False(t, math.IsNaN(f.Value) || math.IsInf(f.StdUncertainty, 0), "%s: %s", l.Name, name)
			assert.Contains(t, f.Source, NotMeasured)
			u, _ := f.Budget.Combined()
			assert.Equal(t, f.StdUncertainty, u)
			for _, line := range f.Budget {
				assert.NotEmpty(t, line.Note, "%s: %s: %s", l.Name, name, line.Source)
			}
		}
	}
}

// Laws: air and hoses soften, and less of them softens less, down to none of
// them without a step; a smaller volume is stiffer; what is quick is stiffer;
// the compliance is that of the whole.
func TestVolumeLaws(t *testing.T) {
	for _, l := range Table() {
		v := crane(l)
		f := figures(t, v, at100bar)
		assert.Less(t, f["air on stiffness"].Value, 1.0, l.Name)
		assert.Less(t, f["hose on stiffness"].Value, 1.0, l.Name)
		assert.Greater(t, f["quick ratio"].Value, 1.0, l.Name)
		assert.InEpsilon(t, f["stiffness"].Value*v.Trapped.Value, f["effective modulus"].Value, 1e-12)
		assert.InEpsilon(t, f["B"].Value*f["rise"].Value, f["decay"].Value, 1e-12)
		assert.InEpsilon(t, f["stiffness"].Value/60e6, f["rate"].Value, 1e-12)

		last := math.Inf(1)
		for _, share := range []float64{0, 1e-9, 1e-6, 1e-3, 1e-2, 0.05} {
			v.Air.Value = share
			s, err := v.Stiffness(at100bar)
			require.NoError(t, err)
			assert.Less(t, s.Value, last, "%s with %g of air", l.Name, share)
			if share > 0 && share < 1e-5 {
				assert.InEpsilon(t, last, s.Value, 1e-6, "%s: a step at no air", l.Name)
			}
			last = s.Value
		}
		last = 0
		for _, metres := range []float64{4, 2, 1, 0.5, 0.1, 1e-6} {
			v = crane(l)
			v.Hoses[0].Length.Value = metres
			s, err := v.Stiffness(at100bar)
			require.NoError(t, err)
			assert.Greater(t, s.Value, last, "%s with %g m of hose", l.Name, metres)
			last = s.Value
		}
		v.Hoses = nil
		s, err := v.Stiffness(at100bar)
		require.NoError(t, err)
		assert.InEpsilon(t, last, s.Value, 1e-5, "%s: a step at no hose", l.Name)
	}
}

// Without anything that gives, a volume is its liquid.
func TestRigidVolumeIsItsLiquid(t *testing.T) {
	for _, l := range Table() {
		p, err := l.At(at100bar)
		require.NoError(t, err)
		f := figures(t, rigid(l, 1e-4), at100bar)
		assert.InEpsilon(t, p.BulkModulus.Value, f["effective modulus"].Value, 1e-9)
		assert.InEpsilon(t, p.ThermalCoefficient.Value, f["B"].Value, 1e-9)
		assert.InEpsilon(t, p.AdiabaticRatio.Value, f["quick ratio"].Value, 1e-9)
		assert.InEpsilon(t, p.ThermalCoefficient.StdUncertainty, f["B"].StdUncertainty, 1e-6)
	}
}

// The budget agrees with sensitivities by hand: of a rigid volume
// u²(B) = (K·u(α))² + (α·u(K))² at the reference state.
func TestBudgetByHand(t *testing.T) {
	l := oils()[2]
	p, err := l.At(State{Atmosphere, Celsius(20)})
	require.NoError(t, err)
	alpha, k := l.Parameters[plainExpansion], l.Parameters[plainModulus]
	assert.InEpsilon(t, math.Hypot(k.Value*alpha.U, alpha.Value*k.U), p.ThermalCoefficient.StdUncertainty, 1e-9)
	assert.Len(t, p.ThermalCoefficient.Budget, 2)
}

func TestImpossibleVolumesHaveAReason(t *testing.T) {
	for want, spoil := range map[string]func(*Volume){
		"tubes and hoses hold":    func(v *Volume) { v.Trapped.Value = 10e-6 },
		"a trapped volume of":     func(v *Volume) { v.Trapped.Value = math.NaN() },
		"tube 1: a wall of 3 mm":  func(v *Volume) { v.Tubes[0].Wall.Value = 3e-3 },
		"a share of air of 1":     func(v *Volume) { v.Air.Value = 1 },
		"a share of air of -0.01": func(v *Volume) { v.Air.Value = -0.01 },
	} {
		v := crane(oils()[0])
		spoil(&v)
		_, err := v.Stiffness(at100bar)
		require.ErrorContains(t, err, want)
	}
}

// Air, liquid and body by hand, each alone: what air takes up on the way from
// one atmosphere, how much stiffer it is to a quick step, and that a cavity in
// a thick block grows by 2(1+ν)/E, times what a real body gives more.
func TestAirAndBodyByHand(t *testing.T) {
	const volume, share, pressure = 1e-4, 0.2, 5e5
	hard := exactly(870, 1e-15, 1e16, 1900) // neither gives nor grows: air alone does
	v := rigid(hard, volume)
	v.Air = Parameter{"air", share, 1e-9, "made"}
	s := State{PressureAbs: pressure, Temperature: Celsius(20)}
	f := figures(t, v, s)
	gas := share * volume * Atmosphere / pressure
	assert.InEpsilon(t, share*volume-gas, f["pumped in"].Value, 1e-6)
	assert.InEpsilon(t, pressure/gas, f["stiffness"].Value, 1e-6)
	assert.InEpsilon(t, adiabaticAir, f["quick ratio"].Value, 1e-6)
	assert.InEpsilon(t, pressure/Celsius(20), f["B"].Value, 1e-6)

	v = rigid(hard, volume)
	steel, ok := LookupMaterial("steel")
	require.True(t, ok)
	v.Body = steel
	stiffness, err := v.Stiffness(s)
	require.NoError(t, err)
	assert.InEpsilon(t, 1/(volume*bodyGive.Value*2*1.3/207e9), stiffness.Value, 1e-4)
}

// Against Monte Carlo (JCGM 101:2008, 7): the budget's uncertainty of a
// volume's figures is that of 20 000 draws of its parameters, within a tenth;
// seed fixed.
func TestBudgetAgreesWithMonteCarlo(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 11))
	for _, l := range []Liquid{oils()[2], brakeFluids()[1], waterLiquids[0]} {
		v := crane(l)
		parameters := v.parameters()
		x := make([]float64, len(parameters))
		draws := map[string][]float64{}
		for range 20000 {
			for i, p := range parameters {
				x[i] = p.Value + p.U*random.NormFloat64()
			}
			b := v.balance(x, at100bar)
			draws["B"] = append(draws["B"], b.coefficient())
			draws["stiffness"] = append(draws["stiffness"], 1/b.compliance())
			draws["effective modulus"] = append(draws["effective modulus"], b.trapped/b.compliance())
			draws["rise"] = append(draws["rise"], b.quickness*warmed(func(s State) point { return l.law(x[:len(l.Parameters)], s) }, Atmosphere, at100bar.PressureAbs, at100bar.Temperature))
		}
		f := figures(t, v, at100bar)
		for name, all := range draws {
			mean, sd := stat.MeanStdDev(all, nil)
			assert.InEpsilon(t, sd, f[name].StdUncertainty, 0.10, "%s: %s", l.Name, name)
			assert.InDelta(t, mean, f[name].Value, 0.35*sd, "%s: %s", l.Name, name)
		}
	}
}

// The numerical budget is linear in small uncertainties, and what does not
// enter has no line.
func TestPropagate(t *testing.T) {
	value, budget := propagate([]Parameter{{"a", 2, 0.1, "x"}, {"b", 3, 0.2, "y"}, {"c", 5, 1, "z"}}, func(x []float64) float64 { return x[0] * x[1] })
	assert.Equal(t, 6.0, value)
	require.Len(t, budget, 2)
	assert.InDelta(t, 0.3, budget[0].StdUncertainty, 1e-12)
	assert.InDelta(t, 0.4, budget[1].StdUncertainty, 1e-12)
	assert.Equal(t, uncertainty.Line{Source: "b", StdUncertainty: budget[1].StdUncertainty, DegreesOfFreedom: math.Inf(1), Note: "y"}, budget[1])
}
