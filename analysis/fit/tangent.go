package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// tangent is a model's surface as seen from one point: the plane of what the
// parameters can change there, and the residuals' part in it, in coordinates
// in which the plane's axes are at right angles.
//
// With r the residuals, J the Jacobian and D the scales, J·D⁻¹ = Q·U·S·Vᵀ;
// part is (Q·U)ᵀ·r and rest the length of what of r stands upright.
type tangent struct {
	scale    []float64 // D
	singular []float64 // S
	axes     mat.Dense // V
	part     []float64
	rest     float64
	damping  float64 // of the last step
	freedom  float64 // rows − parameters, those of the whole problem
	scaled   *mat.Dense
	svd      mat.SVD
	u        mat.Dense
}

func newTangent(parameters int, freedom float64) *tangent {
	return &tangent{
		singular: make([]float64, parameters),
		part:     make([]float64, parameters),
		freedom:  freedom,
		scaled:   mat.NewDense(parameters, parameters, nil),
	}
}

// read takes columns from…size−1 of the triangle as the Jacobian, less what
// the columns before them explain, and the last as the residuals; scale grows
// with the columns. It returns false where that cannot be computed.
//
// Source: [7], scaling that grows: D_j = max(D_j, ‖J_j‖).
func (g *tangent) read(t *triangle, from int, scale []float64) bool {
	size, last := len(scale), t.size-1
	g.rest = math.Abs(t.at(last, last))
	g.scale = scale
	for j := range size {
		scale[j] = max(scale[j], t.length(from, from+j, from+j+1))
		unit := scale[j]
		if unit == 0 {
			unit = 1
		}
		for i := range size {
			g.scaled.Set(i, j, t.at(from+i, from+j)/unit)
		}
		g.part[j] = t.at(from+j, last)
	}
	if !g.svd.Factorize(g.scaled, mat.SVDFull) {
		return false
	}
	g.svd.Values(g.singular)
	g.svd.UTo(&g.u)
	g.svd.VTo(&g.axes)
	q := mat.NewVecDense(size, nil)
	q.MulVec(g.u.T(), mat.NewVecDense(size, g.part))
	copy(g.part, q.RawVector().Data)
	return finite(floats.Sum(g.part))
}

// offset returns how long the full step is, in standard uncertainties: the
// part of the residuals in the plane by the part upright, each by its root of
// degrees of freedom.
//
// Source: [8].
func (g *tangent) offset() float64 {
	in := floats.Norm(g.part, 2) / math.Sqrt(float64(len(g.part)))
	if in == 0 {
		return 0
	}
	return in / (g.rest / math.Sqrt(g.freedom))
}

// fall returns by how much the full step should lower the sum of squares.
func (g *tangent) fall() float64 { return floats.Dot(g.part, g.part) }

// step writes to dst the step that lowers the sum of squares most among those
// of a scaled length up to radius (within a tenth), and returns its scaled
// length and by how much the sum should fall.
//
// Source: [7], the iteration of Hebden in the axes of the plane.
func (g *tangent) step(dst []float64, radius float64) (length, fall float64) {
	damping := 0.0
	for range 50 {
		length = g.damped(dst, damping)
		if !(length > 1.1*radius) {
			break
		}
		turn := 0.0
		for i, q := range dst {
			if q != 0 {
				turn += q * q / (g.singular[i]*g.singular[i] + damping)
			}
		}
		damping += (length - radius) / radius * length * length / turn
	}
	g.damping = damping
	for i, p := range g.part {
		if s := g.singular[i]; s != 0 {
			left := damping / (s*s + damping)
			fall += p * p * (1 - left*left)
		}
	}
	g.turn(dst)
	return length, fall
}

// deviation turns bend, the model's second derivative along the last step as
// projected by triangle.project, into the change of parameters that makes up
// for it, and returns its scaled length.
//
// Source: [12]: δ₂ = −½(JᵀJ + λD²)⁻¹ Jᵀ f″.
func (g *tangent) deviation(bend []float64) (length float64) {
	q := mat.NewVecDense(len(bend), nil)
	q.MulVec(g.u.T(), mat.NewVecDense(len(bend), bend))
	for i := range bend {
		bend[i] = 0
		if s := g.singular[i]; s != 0 {
			bend[i] = -0.5 * s * q.AtVec(i) / (s*s + g.damping)
		}
	}
	length = floats.Norm(bend, 2)
	g.turn(bend)
	return length
}

// damped writes the step in the plane's own axes and returns its length.
func (g *tangent) damped(dst []float64, damping float64) float64 {
	for i, p := range g.part {
		dst[i] = 0
		if s := g.singular[i]; s != 0 {
			dst[i] = s * p / (s*s + damping)
		}
	}
	return floats.Norm(dst, 2)
}

// turn brings a vector from the plane's axes into parameters.
func (g *tangent) turn(v []float64) {
	q := mat.NewVecDense(len(v), nil)
	q.MulVec(&g.axes, mat.NewVecDense(len(v), v))
	for j := range v {
		v[j] = 0 // a parameter without influence stays where it is
		if g.scale[j] > 0 {
			v[j] = q.AtVec(j) / g.scale[j]
		}
	}
}
