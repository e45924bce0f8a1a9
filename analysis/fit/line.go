package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Line fits y = c0 + c1·t by least squares in time proportional to the number
// of points. It is computed about the means and carried back to t = 0 with
// full covariance. len(t) == len(y), in any order of t.
//
// Errors: ErrTooFew under 3 points, ErrRank when all t are equal,
// ErrNotFinite. It panics when the lengths differ.
//
// Source: [1] H.3.2, eq. H.13, with sums of differences from the means.
func Line(t, y []float64) (Linear, error) {
	if len(t) != len(y) {
		panic("fit: times and values differ in number")
	}
	n := len(t)
	if n < 3 {
		return Linear{}, ErrTooFew
	}
	c := centre{t: mean(t), y: mean(y)}
	reach := 0.0
	for _, v := range t {
		reach = max(reach, math.Abs(v-c.t))
		c.spread += (v - c.t) * (v - c.t)
	}
	if !finite(c.spread) || !finite(c.y) {
		return Linear{}, ErrNotFinite
	}
	if reach <= 4*epsilon*math.Abs(c.t) {
		return Linear{}, ErrRank
	}
	slope, residuals := c.slope(t, y)
	s := math.Sqrt(sumOfSquares(residuals) / float64(n-2))
	if !finite(s) || !finite(slope) {
		return Linear{}, ErrNotFinite
	}
	varSlope := s * s / c.spread
	return Linear{
		Coefficients: []float64{c.y - slope*c.t, slope},
		Covariance: mat.NewSymDense(2, []float64{
			s*s/float64(n) + varSlope*c.t*c.t, -varSlope * c.t,
			-varSlope * c.t, varSlope,
		}),
		ResidualStd:      s,
		DegreesOfFreedom: n - 2,
		Residuals:        residuals,
		centre:           &c,
	}, nil
}

// slope returns the line's slope and its residuals. The residuals of a first
// slope are fitted once more, which gives back the digits that rounding took
// from level and slope.
func (c *centre) slope(t, y []float64) (float64, []float64) {
	cross := 0.0
	for i := range t {
		cross += (t[i] - c.t) * (y[i] - c.y)
	}
	slope := cross / c.spread
	residuals := make([]float64, len(t))
	c.residuals(residuals, slope, t, y)
	cross = 0
	for i, r := range residuals {
		cross += (t[i] - c.t) * r
	}
	slope += cross / c.spread
	c.y += mean(residuals)
	c.residuals(residuals, slope, t, y)
	return slope, residuals
}

func (c *centre) residuals(dst []float64, slope float64, t, y []float64) {
	for i := range t {
		dst[i] = (y[i] - c.y) - slope*(t[i]-c.t)
	}
}

// BlockMeans fits a line through the means of that many blocks of equal
// length (as nearly as the number of points allows), in the order of the
// data. Averaging over blocks longer than the memory of the noise makes it
// independent; with few blocks the result is a check beside a line through
// all points and no replacement. len(t) == len(y), t in order.
//
// Errors as for Line; ErrTooFew also with fewer points than blocks.
//
// Source: common practice (mark P).
func BlockMeans(t, y []float64, blocks int) (Linear, error) {
	if len(t) != len(y) {
		panic("fit: times and values differ in number")
	}
	if blocks < 3 || len(t) < blocks {
		return Linear{}, ErrTooFew
	}
	meanT, meanY := make([]float64, blocks), make([]float64, blocks)
	for b := range blocks {
		from, to := b*len(t)/blocks, (b+1)*len(t)/blocks
		meanT[b], meanY[b] = mean(t[from:to]), mean(y[from:to])
	}
	return Line(meanT, meanY)
}
