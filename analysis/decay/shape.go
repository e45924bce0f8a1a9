package decay

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// A law's slope times the duration is the pressure lost only where the law
// explains the hold. Settling in the hold, a valve that closes late or opens
// late make a loss that no law follows; what is left then looks like
// noise that hardly changes, and hides the loss in it. So a freer curve is laid
// beside the laws, and where it clearly explains the hold better, the pressure
// lost is its fall from t0 to t1.
const (
	// fewestShaped is below how many readings no freer curve is tried.
	fewestShaped = 30
	// shapeBlocks is of how many means the curve is sought.
	shapeBlocks = 300
	// freerDegree is the highest degree of its polynomial.
	freerDegree = 4
	// Tails are tried at tailSteps time constants from quickestTail to
	// slowestTail of the duration, and refined within shortest and longest.
	tailSteps                 = 14
	quickestTail, slowestTail = 1.0 / 150, 0.5
	shortestTail, longestTail = 1.0 / 400, 1.0
	// mostBesideCreep is the highest degree beside a creep.
	mostBesideCreep = 2
	// freerBy is by how much the criterion must fall for a freer curve, and
	// surelyFreer from where the law is ruled out.
	//
	// Source: Burnham and Anderson [6], 2.6: above 10 a model has essentially
	// no support (mark M). That counts one rival; here the best of some
	// hundred is taken, so up to surelyFreer the law stays a doubt (the
	// house's own).
	freerBy, surelyFreer = 10.0, 30.0
	// hopeless is by how much the criterion of a curve, before its time constants
	// are refined, may be larger than the smallest for it to be refined: three
	// parameters less are worth less than 7, and by exp(−20/2) it would count.
	hopeless = 30.0
	// pretended is within how many standard uncertainties of temperature and
	// settling what the law leaves may be theirs.
	pretended = 2.0
)

// instead is a shape that takes the law's place for what was lost.
type instead struct {
	shape
	// gain is by how much its criterion is smaller than the law's.
	gain float64
	// rivals is by how much other freer curves that are about as good differ
	// in what was lost, Pa.
	rivals float64
	// sure: the law is ruled out; otherwise what lies between the two is a
	// doubt.
	sure bool
	// sudden is how many losses all at once are steps of the curve.
	sudden int
}

// explained reports whether a law explains the hold, or might.
func (f *fitting) explained() bool { return f.instead == nil || !f.instead.sure }

// unexplained is why a law gives nothing where it does not explain the hold.
const unexplained = "no law explains the hold"

// takeShape lays the freer curve that explains the readings y best, and keeps
// it where a law does not do.
//
// Source: AICc with the number of independent readings that the best curve
// leaves [5].
func (f *fitting) takeShape(y []float64) {
	if f.liquid == nil || len(f.t) < fewestShaped {
		return
	}
	if f.burst(y) {
		return
	}
	l := f.choice.law()
	m := min(len(f.t), shapeBlocks)
	b := evenBlocks(series.Column{Time: f.t, Value: y}, m)
	left := evenBlocks(series.Column{Time: f.t, Value: l.residuals}, m).Value
	level := b.Value[0]
	floats.AddConst(-level, b.Value)
	byLaw := floats.Dot(left, left)
	curve, gain, rivals := bestFreer(b.Time, b.Value, f.duration, byLaw)
	if !(gain >= freerBy) {
		return
	}
	near := append([]float64(nil), y...)
	floats.AddConst(-level, near)
	s := curve.lay(f.t, near, append([]float64{0, f.duration}, f.o.After...))
	excess := (l.rss - s.rss) / float64(len(f.t))
	steps := square(f.quantum) + square(f.sensitivity()*f.liquid.quantum)
	if excess <= pretended*pretended*steps {
		return
	}
	f.instead = &instead{shape: s, gain: gain, rivals: rivals,
		sure: gain >= surelyFreer && excess > pretended*pretended*(steps+f.pretence(l))}
	f.level = level
}

func square(x float64) float64 { return x * x }

// bestFreer returns the freer curve with the smallest criterion, and by how
// much that is smaller than the one of a law that leaves byLaw; and the root
// mean square by which the others' loss from t0 to t1 differs from its own,
// each counted by its Akaike weight exp(−Δ/2).
//
// Source: Burnham and Anderson [6], 4.3.2, unconditional variance (mark M).
func bestFreer(t, y []float64, duration, byLaw float64) (best freer, gain, rivals float64) {
	n := float64(len(t))
	candidates := freers(t, y, duration)
	slices.SortStableFunc(candidates, func(a, b candidate) int { return cmp.Compare(a.rss, b.rss) })
	var tried []shape
	fullest, w := -1, new(fit.Workspace)
	for _, c := range candidates {
		// all readings independent: the most that it can gain
		if !(n*math.Log(byLaw/c.rss) > freerBy) {
			break
		}
		if fullest >= 0 && tried[fullest].farFrom(c, candidates[0]) {
			break
		}
		tried = append(tried, c.refined(t, y, w))
		if last := len(tried) - 1; fullest < 0 || tried[last].rss < tried[fullest].rss {
			fullest, tried[last] = last, tried[last].remembering()
		}
	}
	if fullest < 0 {
		return best, 0, 0
	}
	effective := tried[fullest].effective
	criterion := func(rss float64, parameters int) float64 {
		return fit.AICc(rss*effective/n, int(effective), parameters)
	}
	law := criterion(byLaw, lawParameters)
	gains, lost, bestLost := make([]float64, len(tried)), make([]float64, len(tried)), 0.0
	for k, s := range tried {
		lost[k], gains[k] = s.value(0)-s.value(1), law-criterion(s.rss, s.parameters())
		if gains[k] > gain {
			best, gain, bestLost = s.freer, gains[k], lost[k]
		}
	}
	if gain == 0 {
		return best, 0, 0
	}
	var sum, weights float64
	for k, g := range gains {
		if w := math.Exp((g - gain) / 2); w > 0 { // not where there is no criterion
			sum, weights = sum+w*square(lost[k]-bestLost), weights+w
		}
	}
	return best, gain, math.Sqrt(sum / weights)
}

// farFrom reports whether a curve comes too late beside the refined one: what it
// leaves is far from that of the best on the grid, and the grid was so fine that
// to refine gained little.
func (s shape) farFrom(c, best candidate) bool {
	return s.effective*math.Log(c.rss/best.rss) > hopeless && float64(len(s.residuals))*math.Log(best.rss/s.rss) < hopeless/2
}

// candidate is a curve with about what it leaves.
type candidate struct {
	freer
	rss float64
}

// freers returns the best of each kind of curve, time constants on the grid:
// every degree without tail, with one from t0 and with one towards t1; a
// straight line with two from t0, and with one of either.
func freers(t, y []float64, duration float64) (out []candidate) {
	tails := make([]tail, 2*tailSteps)
	for k := range tailSteps {
		tau := duration * quickestTail * math.Pow(slowestTail/quickestTail, float64(k)/(tailSteps-1))
		tails[k], tails[tailSteps+k] = tail{tau: tau}, tail{tau: tau, late: true}
	}
	for k := range hingeSteps {
		tails = append(tails, tail{tau: duration * float64(k+1) / (hingeSteps + 1), hinge: true})
	}
	for k := range tailSteps {
		tails = append(tails, tail{tau: tails[k].tau, creep: true})
	}
	const creeps = 2*tailSteps + hingeSteps
	c := freer{duration: duration, degree: freerDegree, tails: tails}
	columns := c.places(t)
	values, columns := columns[:freerDegree+1], columns[freerDegree+1:]
	orthonormal(values)
	left := append([]float64(nil), y...)
	for d, p := range values {
		for _, v := range append(columns, left) {
			floats.AddScaled(v, -floats.Dot(p, v), p)
		}
		if d == 0 {
			continue
		}
		out = append(out, candidate{freer{duration, d, nil}, floats.Dot(left, left)})
		out = append(out, bestTails(left, columns[:2*tailSteps], freer{duration, d, tails[:2*tailSteps]}, d == 1)...)
		if d == 1 {
			out = append(out, bestHinges(left, columns[2*tailSteps:creeps], freer{duration, d, tails[2*tailSteps : creeps]})...)
		}
		if d <= mostBesideCreep {
			out = append(out, bestOf(left, columns[creeps:], freer{duration, d, tails[creeps:]}))
		}
	}
	return out
}

// orthonormal makes columns orthonormal in place.
func orthonormal(columns [][]float64) {
	for k, v := range columns {
		for _, q := range columns[:k] {
			floats.AddScaled(v, -floats.Dot(q, v), q)
		}
		floats.Scale(1/floats.Norm(v, 2), v)
	}
}

// bestTails returns the best early and the best late tail for what a
// polynomial leaves of readings and tails, and the best pairs if asked for.
func bestTails(left []float64, columns [][]float64, c freer, pairs bool) []candidate {
	rss := floats.Dot(left, left)
	one := [2]candidate{{rss: math.Inf(1)}, {rss: math.Inf(1)}}
	two := one
	take := func(best *candidate, rss float64, tails ...tail) {
		if rss < best.rss {
			*best = candidate{freer{c.duration, c.degree, tails}, rss}
		}
	}
	own, with := make([]float64, len(columns)), make([]float64, len(columns))
	for i, a := range columns {
		own[i], with[i] = floats.Dot(a, a), floats.Dot(a, left)
		take(&one[i/tailSteps], rss-with[i]*with[i]/own[i], c.tails[i])
		if !pairs {
			continue
		}
		for j := range min(i, tailSteps) {
			common := floats.Dot(a, columns[j])
			rest, more := own[i]-common*common/own[j], with[i]-common*with[j]/own[j]
			if rest > leastLeft*own[i] {
				take(&two[i/tailSteps], rss-with[j]*with[j]/own[j]-more*more/rest, c.tails[j], c.tails[i])
			}
		}
	}
	if !pairs {
		return one[:]
	}
	return append(one[:], two[:]...)
}

// bestOf returns the curve with the one of the tails that is best.
func bestOf(left []float64, columns [][]float64, c freer) candidate {
	rss := floats.Dot(left, left)
	best := candidate{rss: math.Inf(1)}
	for i, a := range columns {
		with := floats.Dot(a, left)
		if r := rss - with*with/floats.Dot(a, a); r < best.rss {
			best = candidate{freer{c.duration, c.degree, []tail{c.tails[i]}}, r}
		}
	}
	return best
}

// bestHinges returns the best hinge and the best two for what a straight line
// leaves of readings and hinges.
func bestHinges(left []float64, columns [][]float64, c freer) []candidate {
	rss := floats.Dot(left, left)
	one, two := candidate{rss: math.Inf(1)}, candidate{rss: math.Inf(1)}
	own, with := make([]float64, len(columns)), make([]float64, len(columns))
	for i, a := range columns {
		own[i], with[i] = floats.Dot(a, a), floats.Dot(a, left)
		if r := rss - with[i]*with[i]/own[i]; r < one.rss {
			one = candidate{freer{c.duration, c.degree, []tail{c.tails[i]}}, r}
		}
		for j := range i {
			common := floats.Dot(a, columns[j])
			rest, more := own[i]-common*common/own[j], with[i]-common*with[j]/own[j]
			if !(rest > leastLeft*own[i]) {
				continue
			}
			if r := rss - with[j]*with[j]/own[j] - more*more/rest; r < two.rss {
				two = candidate{freer{c.duration, c.degree, []tail{c.tails[j], c.tails[i]}}, r}
			}
		}
	}
	return []candidate{one, two}
}

// pretence is the mean square of what temperature and settling may be wrong
// by, one standard uncertainty each, as far as the law cannot follow it, Pa².
func (f *fitting) pretence(l *law) float64 {
	sum := f.temperaturePretence(l)
	y := make([]float64, len(f.t))
	add := func(u float64, curve func(i int) float64) {
		if u == 0 {
			return
		}
		for i := range y {
			y[i] = u * curve(i)
		}
		l.free(y)
		sum += floats.Dot(y, y) / float64(len(y))
	}
	if l.thinning != nil {
		add(f.in.Known.ViscosityChange.StdUncertainty, func(i int) float64 { return l.thinning[i] })
	}
	if f.settled != nil {
		for _, doubt := range f.settled.curves[1:] {
			add(1, func(i int) float64 { return doubt[i] })
		}
	}
	return sum
}

// words say that the curve was taken and why.
func (k *instead) words(law string) string {
	if k.sudden > 0 {
		return fmt.Sprintf("no law explains the hold: pressure was lost all at once, %d time(s); the loss is a line's with these", k.sudden)
	}
	if k.sure {
		return fmt.Sprintf("%s; the loss is taken from a freer curve, whose AICc is smaller by %.1f", unexplained, k.gain)
	}
	return fmt.Sprintf("%s; a freer curve's AICc is smaller by %.1f, which temperature, settling or chance may explain: the loss is taken from it, the difference as a doubt", law, k.gain)
}

// lostFreely is the pressure that the freer curve loses over the hold, Pa, with its
// budget; besides as of doubts.
func (f *fitting) lostFreely(besides []float64) (value float64, budget uncertainty.Budget) {
	start, g := f.instead.at(0)
	end, h := f.instead.at(1)
	floats.Sub(g, h)
	value = start - end
	budget = f.freeDoubts(g, besides)
	return value, append(budget, f.besideLaw(value, f.byLaws(func(l *law) function { return l.lost(l.c, l.frame, f.duration) }))...)
}

// byLaws is the value that the laws give together.
func (f *fitting) byLaws(of func(l *law) function) (value float64) {
	for i, w := range f.choice.weight {
		if w > 0 {
			value += w * of(f.choice.laid[i]).value
		}
	}
	return value
}

// besideLaw is the doubt between what the freer curve says and what others of
// its kind and, unless it is ruled out, the law say.
//
// Source: [1] 4.3.7, a rectangular distribution, for the law.
func (f *fitting) besideLaw(taken, law float64) uncertainty.Budget {
	u, note := f.instead.rivals, "freer curve taken, others are about as good"
	if !f.instead.sure {
		u = math.Hypot(u, (taken-law)/math.Sqrt(3))
		note = fmt.Sprintf("freer curve taken, %s not ruled out", f.choice.law().title)
	}
	return uncertainty.Budget{{Source: SourceLaw, DegreesOfFreedom: math.Inf(1), StdUncertainty: u, Note: note}}
}

// freeDoubts are the doubts of a sum of readings with weights g about the
// freer curve.
func (f *fitting) freeDoubts(g, besides []float64) uncertainty.Budget {
	s, r := f.instead.shape, f.respond(g)
	size := floats.Norm(g, 2)
	noise := uncertainty.Line{
		Source: SourceNoise, StdUncertainty: inflated(s.std*size, s.inflation), DegreesOfFreedom: s.dof,
		Note: fmt.Sprintf("scatter about a freer curve, × %.2f for autocorrelation", s.inflation),
	}
	return f.withSettling(f.readingLines(noise, r, f.root()*size), r, besides)
}

// afterFreely is the pressure at the time Options.After[k] at constant
// temperature where the freer curve was taken: within the hold only.
func (f *fitting) afterFreely(k int) (level float64, budget uncertainty.Budget) {
	level, g := f.instead.at(2 + k)
	level += f.level
	doubt := f.besideLaw(level, f.byLaws(func(l *law) function { return l.at(l.c, l.frame.resting(), f.o.After[k]) }))
	var besides []float64
	if f.settled != nil {
		besides = f.settled.until(f.o.After[k])
		for i := range besides {
			besides[i] = -besides[i]
		}
		level += besides[0]
	}
	return level, append(f.freeDoubts(g, besides), doubt...)
}
