package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"holdbench/analysis/fit"
)

// scatterOf is the scatter of readings about a law as it enters the noise.
type scatterOf struct{ std, inflation, effective, dof float64 }

// ownScatter is the scatter about a law without what the lag, the coefficient,
// warmth and settling may be wrong by, which has lines of its own in the
// budget: the pattern of a lag that is a little off swings with the temperature
// and would count again as noise that remembers for long. Each shape is taken
// off by as much as its doubt and the readings together make likely:
//
//	minimise Σ (r − Σ γ_k·s_k)² / σ² + Σ γ_k²
//
// with s_k one standard uncertainty of it. The law's value does not change.
//
// Source: [1] 4.3, each doubt counted once; ridge regression with a known
// prior (mark M).
func (f *fitting) ownScatter(l *law) scatterOf {
	if was, ok := f.scatters[l]; ok {
		return was
	}
	if f.scatters == nil {
		f.scatters = map[*law]scatterOf{}
	}
	f.scatters[l] = f.findScatter(l)
	return f.scatters[l]
}

func (f *fitting) findScatter(l *law) scatterOf {
	out := scatterOf{l.std, l.inflation, l.effective, l.dof}
	shapes := f.doubtfulShapes()
	if len(shapes) == 0 || f.interrupted() || !(l.std > 0) || len(l.residuals) < fewestLearned {
		return out
	}
	like := independent(copied(l.slopes))
	for k, s := range shapes {
		shapes[k] = freedOf(like, s)
	}
	left := append([]float64(nil), l.residuals...)
	std := l.std
	for range 2 {
		var ok bool
		if left, ok = withoutLikely(l.residuals, shapes, std); !ok {
			return out
		}
		std = rms(left, len(left)-len(l.slopes))
	}
	m := fit.MemoryOf(left, len(l.slopes)+len(shapes))
	own := scatterOf{std, m.Inflation, m.Effective, m.DegreesOfFreedom}
	if own.std*own.inflation < out.std*out.inflation {
		return own
	}
	return out
}

// copied copies columns.
func copied(columns [][]float64) [][]float64 {
	out := make([][]float64, len(columns))
	for k, c := range columns {
		out[k] = append([]float64(nil), c...)
	}
	return out
}

// doubtfulShapes are what the pressure would look like if what is
// characterised were wrong by one standard uncertainty, Pa.
func (f *fitting) doubtfulShapes() (out [][]float64) {
	add := func(scale float64, a, b []float64) {
		if scale == 0 {
			return
		}
		s := append([]float64(nil), a...)
		if b != nil {
			floats.Sub(s, b)
		}
		floats.Scale(scale, s)
		out = append(out, s)
	}
	if f.liquid == nil {
		return nil
	}
	s := f.sensitivity()
	if f.upper != nil {
		add(s/(2*lagReach), f.upper.at, f.lower.at)
	}
	add(f.coefficient().StdUncertainty, f.liquid.at, nil)
	if own := f.follows.shape(); own != nil {
		add(s, own, nil)
	}
	if w := f.warmed; w != nil {
		add(s/2, w.curves[2], w.curves[1])
		add(s/2, w.curves[4], w.curves[3])
	}
	if f.settled != nil {
		for _, doubt := range f.settled.curves[1:] {
			add(1, doubt, nil)
		}
	}
	return out
}

// mostLikely is by how many of its standard uncertainties a doubt is off at most.
const mostLikely = 3.0

// withoutLikely returns residuals without the likely part of shapes; false where
// that cannot be solved.
func withoutLikely(residuals []float64, shapes [][]float64, std float64) ([]float64, bool) {
	n := len(shapes)
	a, b := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			a.SetSym(i, j, floats.Dot(shapes[i], shapes[j])/(std*std))
		}
		a.SetSym(i, i, a.At(i, i)+1)
		b.SetVec(i, floats.Dot(shapes[i], residuals)/(std*std))
	}
	var chol mat.Cholesky
	var g mat.VecDense
	if !chol.Factorize(a) || chol.SolveVecTo(&g, b) != nil {
		return nil, false
	}
	left := append([]float64(nil), residuals...)
	for k, s := range shapes {
		if !(math.Abs(g.AtVec(k)) <= mostLikely) {
			return nil, false
		}
		floats.AddScaled(left, -g.AtVec(k), s)
	}
	return left, true
}
