package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// surface is a sum of squares over parameters, as the descent sees it.
type surface interface {
	// try computes the residuals at x and returns the sum of their squares,
	// not finite where the model has no value.
	try(x []float64) float64
	// tangent reads the surface at the point last tried; false where the
	// model has no derivative.
	tangent(x []float64, g *tangent, scale []float64) bool
	// keep makes the point last tried the one to return to.
	keep()
	// noise is by how much rounding may change that sum of squares, relative
	// to it.
	noise(sum float64) float64

	// weigh sets the noise that weights the priors; same says whether two
	// noises differ by nothing that matters.
	weigh(sigma float64)
	same(before, now float64) bool
	// rows is the number of observations and priors.
	rows() int
	// residuals, of the observations, and all parameters at the point kept.
	residuals() []float64
	parameters(x []float64) []float64
	// jacobian is the factorisation over all parameters.
	jacobian() *triangle
}

// curved is a surface that can say how its model bends.
type curved interface {
	// bend writes the model's second derivative along step at the point kept,
	// in parts along the columns of the Jacobian last factored there.
	bend(dst, x, step []float64)
}

var (
	_ surface = (*curve)(nil)
	_ curved  = (*curve)(nil)
	_ surface = (*projection)(nil)
)

// firstRadius, in lengths of the start: far enough to matter, near enough not
// to leave the valley (mark P; starts that are hard on a descent end alike
// from 0.2 to 1).
const firstRadius = 0.5

// Of a step's promised fall of the sum of squares, how much must come true
// for the step to be taken, for the radius to shrink, and for it to grow; and
// by how much it does.
//
// Source: [7], values as there.
const (
	takenAbove = 1e-4
	poorBelow  = 0.25
	goodAbove  = 0.75
	shrinkBy   = 0.5
	growBy     = 2
)

// mostBend is by how much a step may turn to follow the model's curvature,
// twice the turn by the step; where more is asked for, the step is too long.
//
// Source: [12].
const mostBend = 0.75

// descent is a Levenberg–Marquardt search in a trust region.
type descent struct {
	surface    surface
	x          []float64 // best point so far
	sum        float64   // of squares there
	here       *tangent
	scale      []float64
	radius     float64
	tolerance  float64
	iterations int

	trial, step, turn []float64
	ahead             *tangent
	stale             bool    // the surface's factorisation is not that of x
	before            float64 // relative offset where the last step, a full one, began; else NaN
	polished          float64 // relative offset at the last step taken by polishing
}

func newDescent(s surface, start []float64, freedom float64, o Options) *descent {
	size := len(start)
	return &descent{
		surface:    s,
		x:          append([]float64(nil), start...),
		here:       newTangent(size, freedom),
		ahead:      newTangent(size, freedom),
		scale:      make([]float64, size),
		trial:      make([]float64, size),
		step:       make([]float64, size),
		turn:       make([]float64, size),
		tolerance:  o.tolerance(),
		iterations: o.iterations(),
		polished:   math.Inf(1),
		before:     math.NaN(),
	}
}

// run goes downhill until the fit is as good as it gets, and returns how it
// ended and after how many tries.
func (d *descent) run() (Outcome, int) {
	d.sum = d.surface.try(d.x)
	if !finite(d.sum) || !d.surface.tangent(d.x, d.here, d.scale) {
		return StartNotFinite, 1
	}
	d.surface.keep()
	d.radius = firstRadius * d.reach()
	for tried := 2; tried <= d.iterations; tried++ {
		if outcome := d.once(); outcome != Unfinished {
			return outcome, tried
		}
	}
	if finite(d.polished) {
		return AtRounding, d.iterations
	}
	return IterationLimit, d.iterations
}

// reach is the scaled length of x; from a start at zero, that of the
// residuals that a step can take away.
func (d *descent) reach() float64 {
	sum := 0.0
	for j, v := range d.x {
		sum = math.Hypot(sum, d.scale[j]*v)
	}
	if sum == 0 {
		return math.Sqrt(d.here.fall())
	}
	return sum
}

// once tries one point.
func (d *descent) once() Outcome {
	offset, noise := d.here.offset(), d.surface.noise(d.sum)*d.sum
	length, fall := d.here.step(d.step, d.radius)
	floats.AddTo(d.trial, d.x, d.step)
	switch {
	case d.next(offset) <= d.tolerance:
		return d.last(noise)
	case d.here.fall() <= noise:
		return d.polish(offset, noise)
	case fall <= epsilon*d.sum || floats.Equal(d.trial, d.x):
		return Stuck
	}
	gain := 0.0
	if d.follow(length) {
		sum := d.surface.try(d.trial)
		gain = (d.sum - sum) / fall
		if !(gain > takenAbove) || !d.move(sum) { // NaN is no gain
			gain = 0
		}
	}
	d.before = math.NaN()
	if gain > 0 && d.ahead.damping == 0 {
		d.before = offset
	}
	d.resize(gain, length)
	return Unfinished
}

// next is the relative offset to expect after the next step: full steps
// shorten it by about the same ratio each time, or by more.
func (d *descent) next(offset float64) float64 {
	if ratio := offset / d.before; ratio < 1 && d.here.damping == 0 {
		return offset * ratio
	}
	return offset
}

// follow bends a step that the region cut short along the model's curvature;
// false says that the step is too long for it.
func (d *descent) follow(length float64) bool {
	c, ok := d.surface.(curved)
	if !ok || d.stale || d.here.damping == 0 {
		return true
	}
	c.bend(d.turn, d.x, d.step)
	bent := d.here.deviation(d.turn)
	if !finite(bent) {
		return true
	}
	floats.Add(d.trial, d.turn)
	return 2*bent <= mostBend*length
}

// move goes to the point last tried; false where there is no derivative.
func (d *descent) move(sum float64) bool {
	if !d.surface.tangent(d.trial, d.ahead, d.scale) {
		d.stale = true
		return false
	}
	d.settle(sum)
	d.here, d.ahead, d.stale = d.ahead, d.here, false
	return true
}

func (d *descent) settle(sum float64) {
	d.surface.keep()
	copy(d.x, d.trial)
	d.sum = sum
}

// resize fits the radius to how well the last step kept its promise.
func (d *descent) resize(gain, length float64) {
	switch {
	case gain < poorBelow:
		d.radius = shrinkBy * min(d.radius, length)
	case gain > goodAbove:
		d.radius = max(d.radius, growBy*length)
	}
}

// last takes the step after which the parameters are near enough, and reads
// the surface there.
func (d *descent) last(noise float64) Outcome {
	if sum := d.surface.try(d.trial); sum <= d.sum+noise {
		d.move(sum)
	}
	return Converged
}

// polish takes a step whose fall is lost in the rounding of the sum of
// squares, for as long as the relative offset, which is not, shrinks.
func (d *descent) polish(offset, noise float64) Outcome {
	if !(offset < d.polished) {
		return AtRounding
	}
	d.polished, d.before = offset, offset
	if sum := d.surface.try(d.trial); !(sum <= d.sum+noise) || !d.move(sum) {
		return AtRounding
	}
	return Unfinished
}
