package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"holdbench/analysis/fit"
	"holdbench/analysis/series"
)

// The rules of LastingStep.
const (
	// stepBlocks is of how many means a step is sought at the most, and
	// stepEdge which share of them lies on either side of it at the least.
	stepBlocks, stepEdge = 300, 1.0 / 25
	// stepMemory is how many readings the noise is taken to remember.
	stepMemory = 4
	// mostBesideStep is the highest degree of the polynomial beside a step, and
	// mostWithoutStep of one without.
	mostBesideStep, mostWithoutStep = 4, 9
	// stepScreened is by how many standard deviations a step stands out at the
	// least for anything further to be tried.
	stepScreened = 4.0
	// stepClear is by how much the criterion must fall from the best smooth
	// curve's, stepSharp from that of a change that takes its time.
	stepClear, stepSharp = 14.0, 5.0
	// leastStepLeft is the square of what the polynomial leaves of a step of 1,
	// over that of its edge.
	leastStepLeft = 0.5
	// heavyClear is from how many standard deviations of its own on the kurtosis
	// tells of heavy tails, among which any outlier that is remembered looks
	// like a step.
	heavyClear = 4.0
	// stepHinges are tried without a step.
	stepHinges = 24
)

// slowChanges are the times in blocks that changes take against which a step
// must prove to be sharp.
var slowChanges = [...]float64{8, 16, 32}

// LastingStep finds one step of a column without gaps and spikes too small for
// Jumps, by all readings on either side: a polynomial with a step at an instant
// that explains the readings clearly better than polynomials, tails and hinges
// without, and better than a change that takes its time; resolution is the
// reading's smallest step (0: as the readings show). The noise may remember:
// readings and curves are filtered so that what it leaves is white.
//
// Source: generalised least squares with an autoregressive noise from the
// Yule-Walker equations (Box and Jenkins, Time Series Analysis, 1970, 3.2 and
// 6.3) and AICc [5] (mark M); levels by own simulation of false alarms and of
// detection (mark C; the tests repeat it).
func LastingStep(c series.Column, resolution float64) (Jump, bool) {
	if c.Len() < fewestForJumps {
		return Jump{}, false
	}
	return lastingStep(c, max(resolution, smallestStep(c.Value)))
}

func lastingStep(c series.Column, step float64) (j Jump, ok bool) {
	b := evenBlocks(c, min(c.Len(), stepBlocks))
	t, y := b.Time, b.Value
	floats.AddConst(-t[0], t)
	floats.AddConst(-y[0], y)
	n, duration := len(t), t[len(t)-1]
	if !(duration > 0) || !(floats.Norm(y, 2) > 0) {
		return j, false
	}
	x := stepSearch{t: t, raw: y, terms: freer{duration: duration, degree: mostWithoutStep}.places(t), y: y}
	orthonormal(x.terms)
	x.findSteps(nil)
	fullest := x.beside[len(x.beside)-1]
	if fullest.at == 0 {
		return j, false
	}
	x.whiten(fullest.residuals(x.terms, y))
	best, ok := x.best(n)
	if !ok || !(math.Abs(best.size) > jumpSteps*step) || !x.noSmoothCurve(best) || !x.sharp(best) {
		return j, false
	}
	at := c.Time[0] + (t[best.at]+t[best.at-1])/2
	return Jump{At: at, Within: 2 * (t[best.at] - t[best.at-1]), Size: best.size}, true
}

// stepSearch is a search under way: blocks' times and means, and means and
// polynomials filtered.
type stepSearch struct {
	t, raw, y []float64
	terms     [][]float64
	// phi are the noise's autoregressive coefficients.
	phi []float64
	// beside are the best steps beside each degree from 1 on, left what each
	// degree leaves alone, from 0 on.
	beside []stepBeside
	left   []float64
	// inflation is what memory the filter leaves, least the best criterion.
	inflation, least float64
}

// stepBeside is a step between a block and the one before it, beside a
// polynomial: its size, what they leave, and by how much that is less than
// without the step.
type stepBeside struct {
	degree, at      int
	size, rss, gain float64
}

func (x *stepSearch) criterion(rss float64, parameters int) float64 {
	effective := float64(len(x.y)) / square(x.inflation)
	return fit.AICc(rss*effective/float64(len(x.y)), int(effective), parameters)
}

// whiten filters means and polynomials by what residuals remember, and finds
// the steps anew.
func (x *stepSearch) whiten(residuals []float64) {
	x.phi = yuleWalker(residuals, stepMemory)
	x.y = x.filtered(x.raw)
	for k, q := range x.terms {
		x.terms[k] = x.filtered(q)
	}
	orthonormal(x.terms)
	x.findSteps(x.phi)
}

// filtered is v less what the noise would remember of the values before; the
// first, which have too few before them, are left out.
func (x *stepSearch) filtered(v []float64) []float64 {
	p := len(x.phi)
	out := append([]float64(nil), v[p:]...)
	for k, phi := range x.phi {
		floats.AddScaled(out, -phi, v[p-1-k:len(v)-1-k])
	}
	return out
}

// yuleWalker returns the coefficients of an autoregressive noise of that order.
//
// Source: Levinson's recursion, J. Math. Phys. 25 (1947) 261 (mark M).
func yuleWalker(v []float64, order int) []float64 {
	r := make([]float64, order+1)
	for k := range r {
		r[k] = floats.Dot(v[k:], v[:len(v)-k])
	}
	phi, e := make([]float64, 0, order), r[0]
	for k := 1; k <= order && e > 0; k++ {
		own := r[k]
		for j, a := range phi {
			own -= a * r[k-1-j]
		}
		own /= e
		next := append([]float64(nil), phi...)
		for j := range phi {
			next[j] -= own * phi[len(phi)-1-j]
		}
		phi = append(next, own)
		e *= 1 - own*own
	}
	return phi
}

// findSteps finds the best step beside each degree up to mostBesideStep, and
// what every degree leaves without one.
func (x *stepSearch) findSteps(phi []float64) {
	n, p := len(x.y), len(phi)
	// front is what the filter makes of a step's beginning, flat what of the rest.
	front, flat := make([]float64, p), 1.0
	for k, f := range phi {
		front[k] = flat
		flat -= f
	}
	x.beside, x.left = nil, nil
	r, taken := append([]float64(nil), x.y...), make([]float64, n)
	edge := max(int(stepEdge*float64(n)), jumpReach)
	with := func(v []float64, k int, after float64) (sum float64) {
		for j, f := range front {
			sum += f * v[k+j]
		}
		return sum + flat*after
	}
	edgeSquare := floats.Dot(front, front)
	for d, q := range x.terms {
		floats.AddScaled(r, -floats.Dot(q, r), q)
		rss := floats.Dot(r, r)
		x.left = append(x.left, rss)
		if d > mostBesideStep {
			continue
		}
		best := stepBeside{degree: d, rss: rss}
		var ofTerm, ofRest float64
		for k := n - 1 - p; k >= edge; k-- {
			ofTerm, ofRest = ofTerm+q[k+p], ofRest+r[k+p]
			taken[k] += square(with(q, k, ofTerm))
			rest := edgeSquare + flat*flat*float64(n-p-k) - taken[k]
			if k > n-edge || !(rest > leastStepLeft) {
				continue
			}
			dot := with(r, k, ofRest)
			if gain := dot * dot / rest; gain > best.gain {
				best.at, best.size, best.gain, best.rss = k+p, dot/rest, gain, rss-gain
			}
		}
		if d > 0 {
			x.beside = append(x.beside, best)
		}
	}
}

// residuals are what the polynomial with the step leaves of readings that are
// not filtered.
func (s stepBeside) residuals(terms [][]float64, y []float64) []float64 {
	r := append([]float64(nil), y...)
	for i := s.at; i < len(r); i++ {
		r[i] -= s.size
	}
	for _, q := range terms[:s.degree+1] {
		floats.AddScaled(r, -floats.Dot(q, r), q)
	}
	return r
}

// best is the step beside the degree that suits it best, where it stands out.
func (x *stepSearch) best(n int) (best stepBeside, ok bool) {
	fullest := x.beside[len(x.beside)-1]
	variance := fullest.rss / float64(len(x.y)-mostBesideStep-2-stepMemory)
	screened := false
	for _, s := range x.beside {
		screened = screened || s.gain > square(stepScreened)*variance
	}
	if !screened || fullest.at == 0 {
		return best, false
	}
	residuals := append([]float64(nil), x.y...)
	v := x.filtered(stepFrom(n, fullest.at))
	floats.AddScaled(residuals, -fullest.size, v)
	for _, q := range x.terms[:fullest.degree+1] {
		floats.AddScaled(residuals, -floats.Dot(q, residuals), q)
	}
	if stat.ExKurtosis(residuals, nil) > heavyClear*math.Sqrt(24/float64(n)) {
		return best, false
	}
	x.inflation = max(fit.MemoryOf(residuals, mostBesideStep+2).Inflation, 1)
	x.least = math.Inf(1)
	for _, s := range x.beside {
		if k := x.criterion(s.rss, s.degree+4); s.at > 0 && k < x.least {
			best, x.least = s, k
		}
	}
	return best, best.at > 0
}

func stepFrom(n, at int) []float64 {
	v := make([]float64, n)
	for i := at; i < n; i++ {
		v[i] = 1
	}
	return v
}

// noSmoothCurve reports whether no polynomial, none with one or two tails or
// hinges, comes near to what the step explains.
func (x *stepSearch) noSmoothCurve(best stepBeside) bool {
	worse := func(rss float64, parameters int) bool {
		return x.criterion(rss, parameters)-x.least > stepClear
	}
	for d, rss := range x.left {
		if d > 0 && !worse(rss, d+2) {
			return false
		}
	}
	duration := x.t[len(x.t)-1]
	var tails []tail
	for k := range stepHinges {
		tails = append(tails, tail{tau: duration * float64(k+1) / (stepHinges + 1), hinge: true})
	}
	for k := range tailSteps {
		tau := duration * quickestTail * math.Pow(slowestTail/quickestTail, float64(k)/(tailSteps-1))
		tails = append(tails, tail{tau: tau}, tail{tau: tau, late: true})
	}
	columns := freer{duration: duration, degree: 1, tails: tails}.places(x.t)[2:]
	for k, v := range columns {
		columns[k] = x.filtered(v)
	}
	left := append([]float64(nil), x.y...)
	for d, q := range x.terms[:mostBesideStep+1] {
		for _, v := range append(columns, left) {
			floats.AddScaled(v, -floats.Dot(q, v), q)
		}
		if d == 0 {
			continue
		}
		for _, s := range bestHinges(left, columns, freer{duration, d, tails}) {
			if !worse(s.rss, s.parameters()) {
				return false
			}
		}
	}
	return true
}

// sharp reports whether every change in the step's place that takes its time,
// a ramp about it or what dies away from a little before it on, explains the
// readings clearly worse.
func (x *stepSearch) sharp(s stepBeside) bool {
	terms := x.terms[:s.degree+1]
	r := append([]float64(nil), x.y...)
	for _, q := range terms {
		floats.AddScaled(r, -floats.Dot(q, r), q)
	}
	rss := floats.Dot(r, r)
	raw := make([]float64, len(x.raw))
	worse := func(change func(i float64) float64) bool {
		for i := range raw {
			raw[i] = change(float64(i))
		}
		v := x.filtered(raw)
		for _, q := range terms {
			floats.AddScaled(v, -floats.Dot(q, v), q)
		}
		left := rss - square(floats.Dot(v, r))/floats.Dot(v, v)
		return x.criterion(left, s.degree+4)-x.least > stepSharp
	}
	for _, width := range slowChanges {
		for shift := -0.5; shift <= 0.5; shift += 0.25 {
			middle := float64(s.at) - 0.5 + shift*width
			if !worse(func(i float64) float64 { return min(max((i-middle)/width, -0.5), 0.5) }) ||
				!worse(func(i float64) float64 { return -math.Expm1(-max(i-middle+width/2, 0) / (width / 2)) }) {
				return false
			}
		}
	}
	return true
}

// seekLastingStep adds a lasting step of the compensated pressure to the jumps,
// where none was found and the hold was not interrupted. What falls by a
// burst's share is no step of the zero.
func (f *fitting) seekLastingStep() {
	d := &f.diagnostics
	if f.interrupted() || len(d.Jumps) > 0 || len(f.t) < fewestForJumps || len(f.compensated) != len(f.t) {
		return
	}
	c := series.Column{Time: f.t, Value: f.compensated}
	j, ok := lastingStep(c, resolutionOf(f.in.Transducer.Resolution, f.p, 0))
	if !ok || j.Burst(interpolate(f.t, f.p, j.At-j.Within)) {
		return
	}
	j.At += f.in.Start
	d.Jumps = append(d.Jumps, j)
}
