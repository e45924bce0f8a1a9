package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// triangle is a QR factorisation by modified Gram–Schmidt of columns that lie
// one behind the other in block, each overwritten by its column of Q;
// R[i][j] for i ≤ j. With the right side as the last column the solution is as
// good as from Householder's.
//
// Source: [2], 2.4.
type triangle struct {
	size, rows int
	block      []float64
	r          []float64
	worst      float64 // condition from which on columns depend on one another
}

// newTriangle has room for size columns; block holds rows·size numbers.
func newTriangle(size, rows int, block []float64, worst float64) *triangle {
	return &triangle{size: size, rows: rows, block: block, r: make([]float64, size*size), worst: worst}
}

func (t *triangle) at(i, j int) float64 { return t.r[i*t.size+j] }

func (t *triangle) column(j int) []float64 {
	return t.block[j*t.rows : (j+1)*t.rows : (j+1)*t.rows]
}

// take makes column j orthogonal to the columns from…to−1, which are done.
func (t *triangle) take(j, from, to int) {
	column := t.column(j)
	for i := from; i < to; i++ {
		part := floats.Dot(t.column(i), column)
		floats.AddScaled(column, -part, t.column(i))
		t.r[i*t.size+j] = part
	}
}

// add makes column j orthogonal to all before it and brings it to length 1.
// What is left of a column that depends on them is rounding, which points
// anywhere: it is set to 0, and so is its R. add returns false where a number
// is not finite.
func (t *triangle) add(j int) bool {
	column := t.column(j)
	whole := math.Sqrt(floats.Dot(column, column))
	t.take(j, 0, j)
	left := math.Sqrt(floats.Dot(column, column))
	if left <= whole/t.worst {
		left = 0
		clear(column)
	} else {
		floats.Scale(1/left, column)
	}
	t.r[j*t.size+j] = left
	return finite(whole) && finite(left)
}

// end measures the last column and leaves it as it is.
func (t *triangle) end() bool {
	last := t.column(t.size - 1)
	length := math.Sqrt(floats.Dot(last, last))
	t.r[len(t.r)-1] = length
	return finite(length)
}

// project writes the parts of v along the first columns of Q to dst and takes
// them from v.
func (t *triangle) project(dst, v []float64) {
	for j := range dst {
		dst[j] = floats.Dot(t.column(j), v)
		floats.AddScaled(v, -dst[j], t.column(j))
	}
}

// solve returns in dst the x of R[0:n,0:n]·x = R[0:n,last]; the x of a column
// that depends on others is 0.
func (t *triangle) solve(dst []float64) {
	for i := len(dst) - 1; i >= 0; i-- {
		sum := t.at(i, t.size-1)
		for j := i + 1; j < len(dst); j++ {
			sum -= t.at(i, j) * dst[j]
		}
		dst[i] = 0
		if diagonal := t.at(i, i); diagonal != 0 {
			dst[i] = sum / diagonal
		}
	}
}

// inverse returns R⁻¹ without its last column, the right side, and whether the
// columns can be told apart when all are scaled to one length.
func (t *triangle) inverse() (*mat.TriDense, bool) {
	n := t.size - 1
	upper, scaled := mat.NewTriDense(n, mat.Upper, nil), mat.NewDense(n, n, nil)
	for j := range n {
		length := t.length(0, j, j+1)
		if t.at(j, j) == 0 {
			return nil, false
		}
		for i := 0; i <= j; i++ {
			upper.SetTri(i, j, t.at(i, j))
			scaled.Set(i, j, t.at(i, j)/length)
		}
	}
	var svd mat.SVD
	if !svd.Factorize(scaled, mat.SVDNone) || !(svd.Cond() < t.worst) {
		return nil, false
	}
	inverse := mat.NewTriDense(n, mat.Upper, nil)
	if err := inverse.InverseTri(upper); err != nil {
		if _, badly := err.(mat.Condition); !badly { // scales differ; the scaled columns decided
			return nil, false
		}
	}
	return inverse, true
}

// length returns the length of rows from…to of column j.
func (t *triangle) length(from, j, to int) float64 {
	sum := 0.0
	for i := from; i < to; i++ {
		sum = math.Hypot(sum, t.at(i, j))
	}
	return sum
}
