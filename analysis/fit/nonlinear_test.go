package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
)

// A step to where the model has no value is not taken, and the fit goes on.
func TestStepIntoNaNIsRejected(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5, 6}
	root := Model{ // √(b − x): no value for b < 6
		Values: func(dst, b []float64) {
			for i := range dst {
				dst[i] = math.Sqrt(b[0] - x[i])
			}
		},
		Jacobian: func(dst [][]float64, b []float64) {
			for i := range x {
				dst[0][i] = 0.5 / math.Sqrt(b[0]-x[i])
			}
		},
	}
	y := make([]float64, len(x))
	root.Values(y, []float64{6.25})
	visited := 0
	watched := root
	watched.Values = func(dst, b []float64) {
		if b[0] < 6 {
			visited++
		}
		root.Values(dst, b)
	}
	s, err := Nonlinear(watched, y, []float64{40}, Options{})
	require.NoError(t, err)
	assert.InDelta(t, 6.25, s.Parameters[0], 1e-10)
	assert.Positive(t, visited, "this start must lead to where the model has no value")

	holes := root // values, but no derivative: not gone to either
	holes.Values = func(dst, b []float64) {
		for i := range dst {
			dst[i] = math.Sqrt(math.Max(0, b[0]-x[i]))
		}
	}
	s, err = Nonlinear(holes, y, []float64{40}, Options{})
	require.NoError(t, err)
	assert.InDelta(t, 6.25, s.Parameters[0], 1e-10)
}

func TestNonlinearFitRefusesWhatItCannotFit(t *testing.T) {
	times, y := noisyDecay(50)
	m := decay(times)
	whole := m.Model(len(y))
	nan := append([]float64{math.NaN()}, y[1:]...)
	nowhere := Model{Values: func(dst, _ []float64) { dst[0] = math.Inf(1) }}
	product := Model{Values: func(dst, b []float64) {
		for i := range dst {
			dst[i] = b[0] * b[1] * times[i]
		}
	}}
	twins := Model{
		Values: func(dst, b []float64) {
			for i := range dst {
				dst[i] = (b[0] + b[1]) * times[i]
			}
		},
		Jacobian: func(dst [][]float64, _ []float64) {
			copy(dst[0], times)
			copy(dst[1], times)
		},
	}
	uphill := whole
	uphill.Jacobian = func(dst [][]float64, x []float64) {
		whole.Jacobian(dst, x)
		for _, column := range dst {
			for i := range column {
				column[i] = -column[i]
			}
		}
	}
	for name, c := range map[string]struct {
		model   Model
		y       []float64
		start   []float64
		options Options
		want    error
		outcome Outcome
	}{
		"too few":               {model: whole, y: y[:3], start: decayStart, want: ErrTooFew},
		"a missing value":       {model: whole, y: nan, start: decayStart, want: ErrNotFinite},
		"a missing start":       {model: whole, y: y, start: []float64{99, math.NaN(), 4}, want: ErrNotFinite},
		"a start without value": {model: nowhere, y: y, start: []float64{1}, want: ErrNotFinite, outcome: StartNotFinite},
		"a product":             {model: product, y: y, start: []float64{1, 1}, want: ErrRank, outcome: Dependent},
		"twins":                 {model: twins, y: y, start: []float64{1, 1}, want: ErrRank, outcome: Dependent},
		"no influence":          {model: level, y: y, start: []float64{1, 1}, want: ErrRank, outcome: Dependent},
		"a wrong Jacobian":      {model: uphill, y: y, start: decayStart, want: ErrNoProgress, outcome: Stuck},
		"no time": {model: whole, y: y, start: decayStart, options: Options{MaxIterations: 3},
			want: ErrNoProgress, outcome: IterationLimit},
		"a prior of nothing": {model: whole, y: y, start: decayStart,
			options: Options{Priors: []Prior{{Parameter: 0, Value: 1}}}, want: ErrNotFinite},
		"a noise of less than nothing": {model: whole, y: y, start: decayStart, options: Options{Sigma: -1}, want: ErrNotFinite},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := Nonlinear(c.model, c.y, c.start, c.options)
			assert.ErrorIs(t, err, c.want)
			assert.Equal(t, c.outcome, s.Outcome)
			assert.Nil(t, s.Covariance)
			if c.outcome != Unfinished {
				assert.ErrorIs(t, s.Outcome.Err(), c.want)
			}
		})
	}
	_, err := Separable(SeparableModel{Linear: 2, Nonlinear: 1, Basis: func(dst [][]float64, _ []float64) {
		copy(dst[0], times)
		copy(dst[1], times)
	}}, y, []float64{1}, Options{})
	assert.ErrorIs(t, err, ErrRank, "two coefficients of one column")
	assert.PanicsWithValue(t, "fit: a start needs one number for each nonlinear parameter",
		func() { _, _ = Separable(m, y, decayStart, Options{}) })
	assert.PanicsWithValue(t, "fit: a prior needs a parameter of its own",
		func() { _, _ = Nonlinear(whole, y, decayStart, Options{Priors: []Prior{{3, 1, 1}}}) })
}

// A straight line has no time constant: the fit refuses, or says that it does
// not know, and never answers with a narrow interval.
func TestDecayOfStraightLineIsNotKnown(t *testing.T) {
	times, y := noisyLine(600, 0, 100, -0.01, 0.01)
	for _, kind := range kinds {
		for _, start := range []float64{1, 3, 5, 8} {
			s, err := kind.fit(decay(times), y, []float64{99, 1, start}, Options{})
			if err != nil {
				t.Logf("%s from %g: %v after %d tries", kind.name, start, err, s.Tries)
				continue
			}
			t.Logf("%s from %g: ln τ %.3g ± %.2g, %v after %d tries", kind.name, start, s.Parameters[2], s.StdUncertainty(2), s.Outcome, s.Tries)
			assert.Greater(t, s.StdUncertainty(2), 0.2)
		}
	}
}

func TestFitWithoutNoiseGivesTheModel(t *testing.T) {
	times, y := noisyDecay(200)
	m := decay(times)
	truth := []float64{100, 1, math.Log(70)}
	m.Model(len(y)).Values(y, truth)
	for _, kind := range kinds {
		for _, start := range [][]float64{decayStart, truth, {0, 0, 6}} {
			s, err := kind.fit(m, y, start, Options{})
			require.NoError(t, err, "%s from %v: %v", kind.name, start, s.Outcome)
			assert.InDeltaSlice(t, truth, s.Parameters, 1e-10)
			assert.Less(t, s.ResidualStd, 1e-12)
		}
	}
}

func TestCheckJacobianFindsWrongDerivatives(t *testing.T) {
	times, _ := noisyDecay(100)
	points := [][]float64{{100, 1, 4}, {99, -2, 2}, {0, 0.5, 8}}
	whole := decay(times).Model(len(times))
	assert.NoError(t, CheckJacobian(whole, len(times), 1e-6, points...))
	for name, spoil := range map[string]func(dst [][]float64){
		"a sign":         func(dst [][]float64) { dst[1][3] = -dst[1][3] },
		"a part in 1e5":  func(dst [][]float64) { dst[2][50] *= 1 + 1e-5; dst[2][20] *= 1 + 1e-5; dst[2][80] *= 1 + 1e-5 },
		"a column twice": func(dst [][]float64) { copy(dst[2], dst[1]) },
		"a column empty": func(dst [][]float64) { clear(dst[0]) },
	} {
		wrong := whole
		wrong.Jacobian = func(dst [][]float64, x []float64) {
			whole.Jacobian(dst, x)
			spoil(dst)
		}
		assert.ErrorIs(t, CheckJacobian(wrong, len(times), 1e-6, points...), ErrJacobian, name)
	}
	holed := whole
	holed.Jacobian = func(dst [][]float64, x []float64) {
		whole.Jacobian(dst, x)
		dst[0][0] = math.NaN()
	}
	assert.ErrorIs(t, CheckJacobian(holed, len(times), 1e-6, points...), ErrNotFinite)
	assert.Panics(t, func() { _ = CheckJacobian(Model{Values: whole.Values}, 1, 1e-6, points...) })
}

func TestOutcomesAreToldApart(t *testing.T) {
	names := map[string]bool{}
	for o := Unfinished; o <= Dependent; o++ {
		assert.NotEmpty(t, o.String())
		assert.False(t, names[o.String()])
		names[o.String()] = true
		if o.Early() {
			assert.Error(t, o.Err(), o.String())
		}
	}
	assert.Len(t, names, len(outcomes))
	assert.NoError(t, Converged.Err())
	assert.NoError(t, AtRounding.Err())
}

// Whatever the data and the start, a fit ends with an error or with a
// covariance, never in a panic.
func TestNonlinearFitEndsOnAnyData(t *testing.T) {
	const n = 40
	times, y := noisyDecay(n)
	made := map[string]func(i int) float64{
		"noisy":    func(i int) float64 { return y[i] },
		"zero":     func(int) float64 { return 0 },
		"constant": func(int) float64 { return 100 },
		"huge":     func(i int) float64 { return 1e150 * y[i] },
		"tiny":     func(i int) float64 { return 1e-150 * y[i] },
		"rising":   func(i int) float64 { return float64(i * i) },
		"a spike":  func(i int) float64 { return map[int]float64{7: 1e9}[i] },
		"turning":  func(i int) float64 { return float64(1 - 2*(i%2)) },
	}
	for name, each := range made {
		data := make([]float64, n)
		for i := range data {
			data[i] = each(i)
		}
		for _, start := range [][]float64{decayStart, {0, 0, 0}, {1e100, -1e100, 50}, {1, 1, -700}, {1, 1, 700}, {1e-300, 1, 3}} {
			for _, kind := range kinds {
				for _, o := range []Options{{MaxIterations: 200}, {MaxIterations: 200, Priors: []Prior{{1, 1, 0.1}, {2, 4, 1}}}} {
					s, err := kind.fit(decay(times), data, start, o)
					if err != nil {
						assert.Nil(t, s.Covariance, "%s from %v", name, start)
						continue
					}
					for j := range s.Parameters {
						assert.False(t, math.IsNaN(s.StdUncertainty(j)) || math.IsNaN(s.Parameters[j]), "%s from %v: %v ± %v", name, start, s.Parameters[j], s.StdUncertainty(j))
					}
				}
			}
		}
	}
}

// The bent step follows the model: what the model differs from its tangent
// plane by is of third order in the step, no longer of second.
func TestBentStepFollowsTheModel(t *testing.T) {
	times, y := noisyDecay(50)
	m := decay(times).Model(len(y))
	m.Values(y, []float64{100, 1, 3})
	x := []float64{100, 1, 2.9}
	c := newCurve(m, y, 3, Options{})
	g, scale := newTangent(3, 47), make([]float64, 3)
	c.try(x)
	require.True(t, c.tangent(x, g, scale))
	c.keep()
	step, turn, trial := make([]float64, 3), make([]float64, 3), make([]float64, 3)
	length, _ := g.step(step, math.Inf(1))
	c.bend(turn, x, step)
	bent := g.deviation(turn)
	assert.Positive(t, bent)
	assert.Less(t, bent, 0.5*length)

	// The data are the model's, so a full step would end at zero residuals.
	floats.AddTo(trial, x, step)
	straight := math.Sqrt(c.try(trial))
	floats.Add(trial, turn)
	assert.Less(t, math.Sqrt(c.try(trial)), 0.2*straight)
}
