package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Columns count as dependent on one another when the scaled matrix is worse
// conditioned than this; exact dependence shows as about 1e16, the worst of
// the certified sets (Filip) as 1e10.
const worstCondition = 1e13

// LeastSquares fits y = X·c by QR with scaled columns and iterative
// refinement in twice the working precision; it finds what the data as
// stored determine, even where columns nearly depend on one another. X has a
// row for each y.
//
// Errors: ErrTooFew unless X has more rows than columns, ErrRank when columns
// depend on one another, ErrNotFinite. It panics when the lengths differ.
//
// Source: [2].
func LeastSquares(x *mat.Dense, y []float64) (Linear, error) {
	rows, cols := x.Dims()
	if rows != len(y) {
		panic("fit: rows and values differ in number")
	}
	if rows <= cols {
		return Linear{}, ErrTooFew
	}
	if !finite(mat.Norm(x, 1)) || !finite(sumOfSquares(y)) {
		return Linear{}, ErrNotFinite
	}
	scaled, scale, err := scaleColumns(x)
	if err != nil {
		return Linear{}, err
	}
	var qr mat.QR
	qr.Factorize(scaled)
	if !(qr.Cond() < worstCondition) {
		return Linear{}, ErrRank
	}
	s := system{x: scaled, y: y, qr: &qr}
	if err := s.solve(); err != nil {
		return Linear{}, err
	}
	return s.linear(scale)
}

// scaleColumns returns x with columns of a length between ½ and 1, and the
// powers of two that were taken out, so that nothing is rounded.
func scaleColumns(x *mat.Dense) (*mat.Dense, []float64, error) {
	_, cols := x.Dims()
	scaled := mat.DenseCopyOf(x)
	scale := make([]float64, cols)
	for j := range cols {
		length := mat.Norm(x.ColView(j), 2)
		if length == 0 {
			return nil, nil, ErrRank
		}
		_, exponent := math.Frexp(length)
		scale[j] = math.Ldexp(1, exponent)
		column := scaled.ColView(j).(*mat.VecDense)
		column.ScaleVec(1/scale[j], column)
	}
	return scaled, scale, nil
}

// system is y = X·c + r with c, r as far as they are known.
type system struct {
	x  *mat.Dense
	y  []float64
	qr *mat.QR
	c  *mat.VecDense
	r  *mat.VecDense
}

// The most steps of refinement; two do unless the columns are close to
// dependent.
const mostRefinements = 10

// solve finds c and r by steps of refinement from zero. Each step is smaller
// than the last by about the same ratio, so it stops when the next would
// change no digit, or when a step no longer shrinks.
func (s *system) solve() error {
	rows, cols := s.x.Dims()
	s.c, s.r = mat.NewVecDense(cols, nil), mat.NewVecDense(rows, nil)
	last := math.Inf(1)
	for i := range mostRefinements {
		dc, dr, err := s.step()
		if err != nil {
			return err
		}
		size := mat.Norm(dc, math.Inf(1))
		if size >= last {
			return nil
		}
		s.c.AddVec(s.c, dc)
		s.r.AddVec(s.r, dr)
		next := size * (size / last)
		if i > 0 && next <= epsilon/2*mat.Norm(s.c, math.Inf(1)) {
			return nil
		}
		last = size
	}
	return nil
}

// step returns the change of c and r that solves
//
//	│ I  X │ │dr│   │ f │        f = y − r − X·c
//	│ Xᵀ 0 │ │dc│ = │ g │  with  g = −Xᵀ·r
//
// where f and g, differences of nearly equal numbers, are summed in twice the
// working precision.
func (s *system) step() (dc, dr *mat.VecDense, err error) {
	f, g := s.defects()
	var z mat.VecDense // the shortest z with Xᵀz = g
	if err := s.qr.SolveVecTo(&z, true, g); err != nil {
		return nil, nil, ErrRank
	}
	var rest mat.VecDense
	rest.SubVec(f, &z)
	dc = new(mat.VecDense)
	if err := s.qr.SolveVecTo(dc, false, &rest); err != nil {
		return nil, nil, ErrRank
	}
	dr = new(mat.VecDense)
	dr.MulVec(s.x, dc)
	dr.SubVec(f, dr)
	return dc, dr, nil
}

func (s *system) defects() (f, g *mat.VecDense) {
	rows, cols := s.x.Dims()
	f, g = mat.NewVecDense(rows, nil), mat.NewVecDense(cols, nil)
	gs := make([]accumulator, cols)
	for i := range rows {
		row := s.x.RawRowView(i)
		r := s.r.AtVec(i)
		a := accumulator{sum: s.y[i]}
		a.add(-r)
		for j, v := range row {
			a.addProduct(-v, s.c.AtVec(j))
			gs[j].addProduct(-v, r)
		}
		f.SetVec(i, a.total())
	}
	for j := range gs {
		g.SetVec(j, gs[j].total())
	}
	return f, g
}

// linear gives the solution with its covariance, scale undone.
func (s *system) linear(scale []float64) (Linear, error) {
	rows, cols := s.x.Dims()
	ssr := sumOfSquares(s.r.RawVector().Data)
	l := Linear{
		Coefficients:     make([]float64, cols),
		ResidualStd:      math.Sqrt(ssr / float64(rows-cols)),
		DegreesOfFreedom: rows - cols,
		Residuals:        s.r.RawVector().Data,
	}
	var r mat.Dense
	s.qr.RTo(&r)
	upper := mat.NewTriDense(cols, mat.Upper, nil)
	upper.Copy(&r)
	var inverse mat.TriDense
	if err := inverse.InverseTri(upper); err != nil {
		return Linear{}, ErrRank
	}
	rescaled := mat.NewDense(cols, cols, nil)
	for i := range cols {
		l.Coefficients[i] = s.c.AtVec(i) / scale[i]
		for j := i; j < cols; j++ {
			rescaled.Set(i, j, l.ResidualStd*inverse.At(i, j)/scale[i])
		}
	}
	l.Covariance = mat.NewSymDense(cols, nil)
	l.Covariance.SymOuterK(1, rescaled)
	if !finite(l.ResidualStd) {
		return Linear{}, ErrNotFinite
	}
	return l, nil
}
