package decay

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// A settling that is not characterised is learned from the hold itself only
// where its course cannot be a leak's: with a free time constant it fits a
// steady leak within the noise and would swallow it.
const (
	// longestEnding is of the hold what the time constant of a settling that
	// ends is at most, its 95 % bound.
	longestEnding = 1.0 / 3
	// leastDecades of time since locking is over how many a creep over the
	// logarithm of time is told from a line.
	leastDecades = 1.5
	// explainsBy is by how much the criterion of a settling may be larger than
	// the smallest for it to explain the hold, otherwise by how much it must be
	// larger not to be another that may.
	explainsBy = 10.0
	// smallLoss is of the height above the sink up to what the leak beside a
	// settling is a straight line.
	smallLoss = 0.1
)

// ownSettling is a settling learned from the hold beside a leak that is a
// straight line.
type ownSettling struct {
	laws   []*law
	weight []float64
}

// endingBesideLine is a settling that ends, beside a line:
//
//	p(t) = c0 + c1·(t − middle) + A·exp(−t/τ)     parameters c0, c1, A and ln τ
var endingBesideLine = model{
	name: "ending", title: "line and a settling that ends", size: 4,
	fit: func(t, p []float64, x frame) (c vector, unit matrix, err error) {
		x.sink, x.clock = 0, nil
		b, length := averaged(t, p, x, fittedBlocks), t[len(t)-1]
		m := fit.SeparableModel{
			Linear: 3, Nonlinear: 1,
			Basis: func(dst [][]float64, a []float64) {
				copy(dst[0], b.root)
				for i, ti := range b.t {
					dst[1][i] = b.root[i] * (ti - x.middle)
				}
				b.tail(dst[2], math.Exp(-a[0]))
			},
			Slopes: func(dst, basis [][]float64, a, c []float64) {
				b.tailSlope(dst[0], basis[2], math.Exp(-a[0]), c[2])
			},
		}
		err, least := errors.New("no settling can be laid"), math.Inf(1)
		for _, share := range []float64{0.02, 0.08, 0.25} {
			s, failed := fit.Separable(m, b.height, []float64{math.Log(share * length)}, fit.Options{Sigma: 1, MaxIterations: mostTries})
			if failed == nil && s.RSS < least {
				least, err, unit = s.RSS, nil, unitOf(s.Covariance)
				copy(c[:], s.Parameters)
			}
		}
		return c, unit, err
	},
	over: func(c vector, x frame, t []float64) (p []float64, by [][]float64) {
		by, p = table(4, len(t)), make([]float64, len(t))
		for i, ti := range t {
			share := ti * math.Exp(-c[3])
			left := math.Exp(-share)
			p[i] = c[0] + c[1]*(ti-x.middle) + c[2]*left
			by[0][i], by[1][i], by[2][i], by[3][i] = 1, ti-x.middle, left, c[2]*share*left
		}
		return p, by
	},
	lost: leakBeside,
	taken: func(c vector, _ frame, t float64) function {
		share := t * math.Exp(-c[3])
		left := math.Exp(-share)
		return function{value: c[2] * (1 - left), by: vector{0, 0, 1 - left, -c[2] * share * left}}
	},
}

// creepBesideLine is a settling that slows and does not end, beside a line:
//
//	p(t) = c0 + c1·(t − middle) − a·log10(1 + t/since)
//
// since locking.
//
// Source: physical relaxation of rubber over the logarithm of time (mark M).
var creepBesideLine = model{
	name: "creep", title: "line and a creep over the logarithm of time", size: 3,
	fit: func(t, p []float64, x frame) (c vector, unit matrix, err error) {
		if !(x.since > 0) {
			return c, unit, errors.New("the instant of locking is not known")
		}
		x.sink, x.clock = 0, nil
		b := averaged(t, p, x, fittedBlocks)
		columns := mat.NewDense(len(b.t), 3, nil)
		for i, ti := range b.t {
			columns.SetRow(i, []float64{b.root[i], b.root[i] * (ti - x.middle), -b.root[i] * creptBy(1, x.since, x.since+ti)})
		}
		s, err := fit.LeastSquares(columns, b.height)
		if err != nil {
			return c, unit, err
		}
		copy(c[:], s.Coefficients)
		s.Covariance.ScaleSym(1/square(s.ResidualStd), s.Covariance)
		return c, unitOf(s.Covariance), nil
	},
	over: func(c vector, x frame, t []float64) (p []float64, by [][]float64) {
		by, p = table(3, len(t)), make([]float64, len(t))
		for i, ti := range t {
			crept := creptBy(1, x.since, x.since+ti)
			p[i] = c[0] + c[1]*(ti-x.middle) - c[2]*crept
			by[0][i], by[1][i], by[2][i] = 1, ti-x.middle, -crept
		}
		return p, by
	},
	lost: leakBeside,
	taken: func(c vector, x frame, t float64) function {
		crept := creptBy(1, x.since, x.since+t)
		return function{value: c[2] * crept, by: vector{0, 0, crept}}
	},
}

func leakBeside(c vector, _ frame, t float64) function {
	return function{value: -c[1] * t, by: vector{0, -t}}
}

// Why a settling of the hold's own is not told from a leak.
const (
	tooSlow   = "a settling is seen, but one so slow is not told from a leak in a hold of this length: leak and settling are known only as their sum"
	mayNotEnd = "a settling is seen that may be one that slows and does not end, which takes 1.5 decades of time since locking to be told from a leak: leak and settling are known only as their sum"
	noShape   = "what slows is neither a settling that ends nor a creep: leak and settling are known only as their sum"
	largeLoss = "a settling is seen, but beside so large a loss, which slows by itself, it is not told from the leak: leak and settling are known only as their sum"
)

// learnSettling takes a settling from the readings y where they clearly show
// one that is not characterised, and it cannot be a leak; otherwise it says
// why not.
func (f *fitting) learnSettling(y []float64) {
	known := f.in.Known
	if known.Settling != nil || known.Creep != nil || f.instead == nil || !f.instead.sure || f.instead.sudden > 0 {
		return
	}
	line := f.choice.laid[0]
	x := line.frame
	effective, n := f.instead.effective, float64(len(f.t))
	criterion := func(rss float64, parameters int) float64 {
		return fit.AICc(rss*effective/n, int(effective), parameters)
	}
	least := criterion(f.instead.rss, f.instead.parameters())
	var laws []*law
	var aicc []float64
	add := func(m model, x frame, free int) *law {
		l, err := m.lay(f.t, y, x)
		if err != nil || !(l.c[2] > 0) {
			return nil
		}
		a := criterion(l.rss, l.size+1+free)
		laws, aicc, least = append(laws, l), append(aicc, a), min(least, a)
		return l
	}
	ends := add(endingBesideLine, x, 0)
	var creep *law
	placed := x.since > 0 && math.Log10(1+f.duration/x.since) >= leastDecades
	for _, since := range f.beginnings(x.since) {
		at := x
		at.since = since
		if l := add(creepBesideLine, at, 0); l != nil && (creep == nil || l.rss < creep.rss) {
			creep = l
		}
	}
	own := &ownSettling{}
	for i, l := range laws {
		if !(aicc[i]-least <= explainsBy) {
			continue
		}
		switch {
		case -l.c[1]*f.duration > smallLoss*(mean(f.p)-l.sink):
			f.noSett = largeLoss
			return
		case l == ends && !(l.c[3]+uncertainty.T(0.975, l.dof)*l.noise(function{by: vector{0, 0, 0, 1}}) <= math.Log(longestEnding*f.duration)):
			f.noSett = tooSlow
			return
		case l != ends && !placed:
			f.noSett = mayNotEnd
			return
		case l == ends || l == creep:
			own.laws, own.weight = append(own.laws, l), append(own.weight, math.Exp(-(aicc[i]-least)/2))
		}
	}
	if len(own.laws) == 0 {
		f.noSett = noShape
		return
	}
	f.own = own
}

// beginnings are the times from locking to t0 at which a creep may have begun:
// the known one, or some where it is not known.
func (f *fitting) beginnings(since float64) []float64 {
	if since > 0 {
		return []float64{since}
	}
	var out []float64
	for _, share := range []float64{0.003, 0.01, 0.03, 0.1, 0.3, 1} {
		out = append(out, share*f.duration)
	}
	return out
}

// estimate is what the settlings that explain the hold say of something, with
// how far they differ.
func (k *ownSettling) estimate(f *fitting, q si.Quantity, of func(l *law) function) Quantity {
	best := 0
	for i, w := range k.weight {
		if w > k.weight[best] {
			best = i
		}
	}
	l := k.laws[best]
	fn := of(l)
	budget := f.doubts(f.responsesOf(l), fn, fn, nil)
	var spread, sum float64
	for i, w := range k.weight {
		spread, sum = spread+w*square(of(k.laws[i]).value-fn.value), sum+w
	}
	return estimated(fn.value, q, append(budget, uncertainty.Line{
		Source: SourceLaw, DegreesOfFreedom: math.Inf(1), StdUncertainty: math.Sqrt(spread / sum),
		Note: fmt.Sprintf("%s taken, learned from this hold; another course of settling is not ruled out", l.title),
	}))
}

// leakRate and settling are what the hold itself says of the two.
func (k *ownSettling) leakRate(f *fitting) Quantity {
	return k.estimate(f, si.PressureRate, func(l *law) function { return l.lost(l.c, l.frame, f.duration).times(1 / f.duration) })
}

func (k *ownSettling) settling(f *fitting) Quantity {
	return k.estimate(f, si.PressureChange, func(l *law) function { return l.taken(l.c, l.frame, f.duration) })
}

// rateAt is the leak rate at a pressure: that of the line, with the doubt that
// it goes by the height above the sink, or by its root.
func (k *ownSettling) rateAt(f *fitting, p float64) Quantity {
	q := k.leakRate(f)
	sink := f.in.Sink.Pressure.Value
	more := math.Abs(q.Value * ((p-sink)/(mean(f.p)-sink) - 1))
	return estimated(q.Value, q.Quantity, append(q.Budget, uncertainty.Line{
		Source: SourceLaw, DegreesOfFreedom: math.Inf(1), StdUncertainty: more / math.Sqrt(3),
		Note: "taken as steady; that it goes by the pressure is not ruled out",
	}))
}
