package decay

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// cubic is the degree of a spline, and so how many neighbours on one side a
// coefficient touches.
const cubic = 3

// spline is a curve of cubic B-splines over even knots, whose second
// differences are as small as the readings allow:
//
//	minimise Σ (y_i − f(t_i))² + λ·Σ (Δ²c_j)²
//
// which is the most probable curve where the second differences are
// independent normal with variance σ²/λ, and the covariance of its
// coefficients given the readings is σ²·(BᵀB + λDᵀD)⁻¹. Between readings, where
// a corner or a step is, and at the ends it says by itself how little it
// knows; a straight line costs nothing.
//
// Source: Eilers, P. H. C. and Marx, B. D., Stat. Sci. 11 (1996) 89 (mark M);
// λ by restricted likelihood: Wood, S. N., J. R. Stat. Soc. B 73 (2011) 3
// (mark M).
type spline struct {
	from, step float64 // first knot, distance between knots
	coef       []float64
	// root is U of BᵀB + λDᵀD = UᵀU, near that matrix's inverse as far as
	// coefficients touch each other: near[j][d] is its element (j, j+d).
	root blas64.TriangularBand
	near [][cubic + 1]float64
	// variance is σ², freedom the number of parameters that the readings
	// determine (the trace of the smoother).
	variance, freedom float64
}

// hats fills b with the B-splines that are not 0 at t, and their slopes by t;
// they belong to the coefficients first … first+3. Outside the knots the
// polynomial of the last piece goes on.
func (s *spline) hats(t float64, b, slope *[cubic + 1]float64) (first int) {
	at := (t - s.from) / s.step
	first = min(max(int(math.Floor(at)), 0), len(s.coef)-1-cubic)
	u := at - float64(first)
	v := 1 - u
	b[0], b[3] = v*v*v/6, u*u*u/6
	b[1], b[2] = (3*u*u*u-6*u*u+4)/6, (3*v*v*v-6*v*v+4)/6
	slope[0], slope[3] = -v*v/2/s.step, u*u/2/s.step
	slope[1], slope[2] = (3*u*u-4*u)/2/s.step, (4*v-3*v*v)/2/s.step
	return first
}

// value is the curve at a time, slope its derivative.
func (s *spline) value(t float64) (value, slope float64) {
	var b, d [cubic + 1]float64
	first := s.hats(t, &b, &d)
	for k := range b {
		value += b[k] * s.coef[first+k]
		slope += d[k] * s.coef[first+k]
	}
	return value, slope
}

// square is the variance of value + lead·slope at a time over σ².
func (s *spline) square(t, lead float64) (sum float64) {
	var b, d [cubic + 1]float64
	first := s.hats(t, &b, &d)
	for k := range b {
		b[k] += lead * d[k]
	}
	for k := range b {
		sum += b[k] * b[k] * s.near[first+k][0]
		for l := k + 1; l < len(b); l++ {
			sum += 2 * b[k] * b[l] * s.near[first+k][l-k]
		}
	}
	return sum
}

// uncorrelated turns derivatives by the coefficients, in place, into those by
// parameters of variance σ² each that know nothing of each other: U⁻ᵀ·by.
func (s *spline) uncorrelated(by []float64) {
	blas64.Tbsv(blas.Trans, s.root, blas64.Vector{N: len(by), Data: by, Inc: 1})
}

// readingsOf are a spline's readings as far as it needs them, whatever λ is.
type readingsOf struct {
	n      int
	square float64   // Σ y²
	with   []float64 // Bᵀy
	own    []float64 // BᵀB, upper band by rows
	curved []float64 // DᵀD likewise
}

func (s *spline) gather(t, y []float64) readingsOf {
	n := len(s.coef)
	r := readingsOf{n: len(t), square: floats.Dot(y, y), with: make([]float64, n),
		own: make([]float64, n*(cubic+1)), curved: make([]float64, n*(cubic+1))}
	var b, slope [cubic + 1]float64
	for i, ti := range t {
		first := s.hats(ti, &b, &slope)
		for k, v := range b {
			r.with[first+k] += v * y[i]
			for l := k; l < len(b); l++ {
				r.own[(first+k)*(cubic+1)+l-k] += v * b[l]
			}
		}
	}
	second := [3]float64{1, -2, 1}
	for j := range n - 2 {
		for k, v := range second {
			for l := k; l < len(second); l++ {
				r.curved[(j+k)*(cubic+1)+l-k] += v * second[l]
			}
		}
	}
	return r
}

// lay lays the curve for one λ, and returns −2 times its restricted log
// likelihood but for a constant; +Inf where there is no such curve. It works in
// the memory of the curve laid before.
func (s *spline) lay(r readingsOf, lambda float64) float64 {
	n := len(s.coef)
	a := blas64.SymmetricBand{N: n, K: cubic, Stride: cubic + 1, Uplo: blas.Upper, Data: append(s.root.Data[:0], r.own...)}
	floats.AddScaled(a.Data, lambda, r.curved)
	root, ok := lapack64.Pbtrf(a)
	if !ok {
		return math.Inf(1)
	}
	s.root = root
	copy(s.coef, r.with)
	x := blas64.Vector{N: n, Data: s.coef, Inc: 1}
	blas64.Tbsv(blas.Trans, root, x)
	blas64.Tbsv(blas.NoTrans, root, x)
	rest := r.square - floats.Dot(r.with, s.coef)
	free := float64(r.n - 2)
	if !(rest > 0) {
		return math.Inf(1)
	}
	s.variance = rest / free
	var logDet float64
	for j := range n {
		logDet += 2 * math.Log(root.Data[j*root.Stride])
	}
	return free*math.Log(s.variance) + logDet - float64(n-2)*math.Log(lambda)
}

// finish finds what of the inverse is near its diagonal, and how many
// parameters the readings determine.
//
// Source: Takahashi, K., Fagan, J. and Chin, M.-S., 8th PICA Conf. (1973) 63
// (mark M; compared with the whole inverse in the tests).
func (s *spline) finish(r readingsOf) {
	n := len(s.coef)
	s.near = make([][cubic + 1]float64, n)
	inverse := func(i, j int) float64 {
		if i > j {
			i, j = j, i
		}
		if j-i > cubic {
			return 0
		}
		return s.near[i][j-i]
	}
	s.freedom = 0
	for i := n - 1; i >= 0; i-- {
		row := s.root.Data[i*s.root.Stride : i*s.root.Stride+cubic+1]
		for d := min(cubic, n-1-i); d >= 0; d-- {
			var sum float64
			for k := 1; k <= min(cubic, n-1-i); k++ {
				sum += row[k] * inverse(i+k, i+d)
			}
			if d == 0 {
				s.near[i][0] = (1/row[0] - sum) / row[0]
			} else {
				s.near[i][d] = -sum / row[0]
			}
		}
		own := r.own[i*(cubic+1) : (i+1)*(cubic+1)]
		s.freedom += own[0] * s.near[i][0]
		for d := 1; d <= min(cubic, n-1-i); d++ {
			s.freedom += 2 * own[d] * s.near[i][d]
		}
	}
}

// λ is sought between these powers of ten, first in steps of one.
const (
	stiffest = 9
	loosest  = -4
)

// newSpline lays the curve with the λ that the readings make most probable;
// gain is by how much −2 log likelihood is below that of a straight line.
// len(t) == len(y), t within from…to.
func newSpline(t, y []float64, from, to float64, pieces int) (s *spline, gain float64) {
	s = &spline{from: from, step: (to - from) / float64(pieces), coef: make([]float64, pieces+cubic)}
	r := s.gather(t, y)
	straight := s.lay(r, math.Pow(10, stiffest))
	best, at := straight, float64(stiffest)
	try := func(power float64) {
		if v := s.lay(r, math.Pow(10, power)); v < best {
			best, at = v, power
		}
	}
	for power := stiffest - 1; power >= loosest; power-- {
		try(float64(power))
	}
	for step := 0.5; step > 0.1; step /= 2 {
		from := at
		try(from - step)
		try(from + step)
	}
	s.lay(r, math.Pow(10, at))
	s.finish(r)
	return s, straight - best
}
