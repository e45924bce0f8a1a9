package characterisation

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"holdbench/analysis/decay"
	"holdbench/analysis/fit"
	"holdbench/analysis/series"
)

// probe is a probe's temperature over a window as a smooth curve: a cubic
// spline of pieces of equal length, with what is not known of it.
//
//	T(t) = base + Σ_k (c_k + Σ_j root[k][j]·z_j)·B_k(t),  z_j uncorrelated, variance 1
//
// A run for characterisation lasts hours and its temperature goes up and down
// more than once, which one polynomial does not follow.
type probe struct {
	from, to float64
	pieces   int
	base     float64
	coef     []float64
	root     *mat.Dense
	// quantum is what the resolution leaves in a long mean, K; sweep how far
	// the readings moved, K; slope the root mean square of dT/dt, K/s.
	quantum, sweep, slope float64
}

// The blocks that the probe's readings are averaged into, and the pieces that
// are tried: the criterion chooses among them.
const probeBlocks = 400

var piecesTried = []int{1, 2, 3, 4, 6, 8, 11, 15, 20, 27, 36, 48}

var errFewTemperatures = errors.New("fewer than 30 valid temperature readings in the window")

// newProbe smooths the readings from…to, spikes set aside; stated is their
// resolution, 0 where not stated.
func newProbe(c series.Column, from, to, stated float64) (*probe, error) {
	c, _, _ = decay.WithoutSpikes(c.Window(from, to))
	if c.Len() < fewestReadings {
		return nil, errFewTemperatures
	}
	t, v := means(c, probeBlocks)
	p := &probe{from: from, to: to, base: mean(v)}
	for i := range v {
		v[i] -= p.base
	}
	chosen, ok := p.choose(t, v)
	if !ok {
		return nil, errFewTemperatures
	}
	p.take(chosen, c, stated, t)
	return p, nil
}

// laid is one spline laid: its coefficients are span times those fitted.
type laid struct {
	fit.Linear
	pieces int
	span   *mat.Dense // nil: as fitted
}

// choose lays a straight line and splines of ever more pieces, and takes the
// one for which BIC, with as many readings as are independent, is least.
//
// Source: Schwarz, G., Ann. Stat. 6 (1978) 461 (mark M).
func (p *probe) choose(t, v []float64) (laid, bool) {
	var all []laid
	if l, err := p.lay(t, v, 1, straight()); err == nil {
		all = append(all, laid{l, 1, straight()})
	}
	for _, n := range piecesTried {
		if 3*(n+3) > len(t) {
			break
		}
		l, err := p.lay(t, v, n, nil)
		if err != nil {
			break // a stretch without readings: fewer pieces it is
		}
		all = append(all, laid{Linear: l, pieces: n})
	}
	if len(all) == 0 {
		return laid{}, false
	}
	_, effective := fit.AR1Inflation(fit.Autocorrelation(all[len(all)-1].Residuals), len(t))
	least, best := math.Inf(1), all[0]
	for _, l := range all {
		rss := l.ResidualStd * l.ResidualStd * float64(l.DegreesOfFreedom)
		criterion := effective*math.Log(rss/float64(len(t))) + float64(len(l.Coefficients))*math.Log(effective)
		if criterion < least {
			least, best = criterion, l
		}
	}
	return best, true
}

// straight are the coefficients of one piece that make a straight line.
func straight() *mat.Dense {
	return mat.NewDense(4, 2, []float64{1, -1, 1, 0, 1, 1, 1, 2})
}

// lay lays a spline of n pieces, or what span leaves of it.
func (p *probe) lay(t, v []float64, n int, span *mat.Dense) (fit.Linear, error) {
	x := mat.NewDense(len(t), n+3, nil)
	for i, ti := range t {
		first, b := spline((ti-p.from)/(p.to-p.from)*float64(n), n)
		for k, w := range b {
			x.Set(i, first+k, w)
		}
	}
	if span != nil {
		var narrow mat.Dense
		narrow.Mul(x, span)
		x = &narrow
	}
	return fit.LeastSquares(x, v)
}

// take makes the curve of what was laid, with what is not known of it.
func (p *probe) take(l laid, c series.Column, stated float64, t []float64) {
	inflation, _ := fit.AR1Inflation(fit.Autocorrelation(l.Residuals), len(t))
	scaled := mat.NewSymDense(len(l.Coefficients), nil)
	scaled.ScaleSym(inflation*inflation, l.Covariance)
	p.pieces, p.root = l.pieces, mat.NewDense(len(l.Coefficients), len(l.Coefficients), nil)
	var chol mat.Cholesky
	if chol.Factorize(scaled) { // a curve without scatter has no doubt
		var lower mat.TriDense
		chol.LTo(&lower)
		p.root.Copy(&lower)
	}
	coef := mat.NewVecDense(len(l.Coefficients), l.Coefficients)
	if l.span != nil {
		var wide mat.Dense
		wide.Mul(l.span, p.root)
		p.root = &wide
		var all mat.VecDense
		all.MulVec(l.span, coef)
		coef = &all
	}
	p.coef = coef.RawVector().Data
	noise := scatter(c.Value)
	p.quantum = quantum(stated, noise)
	low, high := math.Inf(1), math.Inf(-1)
	var square float64
	for _, ti := range t {
		v, s := p.at(ti)
		low, high = min(low, v), max(high, v)
		square += s * s
	}
	p.sweep, p.slope = high-low, math.Sqrt(square/float64(len(t)))
}

// at returns T and dT/dt.
func (p *probe) at(t float64) (value, slope float64) {
	n := float64(p.pieces)
	x := (t - p.from) / (p.to - p.from) * n
	first, b := spline(x, p.pieces)
	_, d := splineSlope(x, p.pieces)
	value = p.base
	for k := range b {
		value += p.coef[first+k] * b[k]
		slope += p.coef[first+k] * d[k] * n / (p.to - p.from)
	}
	return value, slope
}

// scatter is the standard deviation of single readings, by their successive
// differences.
func scatter(v []float64) float64 {
	var sum float64
	for i := 1; i < len(v); i++ {
		sum += (v[i] - v[i-1]) * (v[i] - v[i-1])
	}
	return math.Sqrt(sum / (2 * float64(len(v)-1)))
}

// quantum is the standard deviation of what a resolution leaves in a long
// mean of readings with that noise.
//
// Source: the first harmonic of the quantisation error, (q/π)·exp(−2π²σ²/q²)
// in amplitude (Widrow and Kollár, Quantization Noise, Cambridge 2008; mark M),
// at most that of readings without noise, q/√12.
func quantum(q, noise float64) float64 {
	if !(q > 0) {
		return 0
	}
	r := noise / q
	return min(q/math.Sqrt(12), q/(math.Pi*math.Sqrt2)*math.Exp(-2*math.Pi*math.Pi*r*r))
}

// spline returns the four cubic pieces that are not 0 at x, counted in pieces
// from the window's start, and the first one's number.
//
// Source: uniform cubic B-spline (mark L: they sum to 1).
func spline(x float64, pieces int) (first int, b [4]float64) {
	first, u := within(x, pieces)
	v := 1 - u
	b = [4]float64{
		v * v * v / 6,
		(3*u*u*u - 6*u*u + 4) / 6,
		(3*v*v*v - 6*v*v + 4) / 6,
		u * u * u / 6,
	}
	return first, b
}

// splineSlope are their derivatives by x.
func splineSlope(x float64, pieces int) (first int, d [4]float64) {
	first, u := within(x, pieces)
	v := 1 - u
	d = [4]float64{-v * v / 2, (3*u*u - 4*u) / 2, -(3*v*v - 4*v) / 2, u * u / 2}
	return first, d
}

func within(x float64, pieces int) (first int, u float64) {
	first = min(max(int(math.Floor(x)), 0), pieces-1)
	return first, x - float64(first)
}
