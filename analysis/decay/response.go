package decay

import "math"

// response is how a weighted sum Σ g_i·p_c(t_i) of compensated pressures
// answers to what the readings and the characterised values may be wrong by.
// It is linear in the weights.
type response struct {
	// sum is Σ g, to a common offset of the pressures; time Σ g·t, to a
	// drift; pressure Σ g·p, to a gain.
	sum, time, pressure float64
	// liquid is Σ g·(T_f(t) − T_f(t0)); lower and upper the same at lag ∓ u.
	liquid, lower, upper float64
	// less and more are liquid with the liquid's own time constant ∓ its step.
	less, more float64
	// ambient is Σ g·(T_a(t) − T_a(t0)), to the transducer's surroundings.
	ambient float64
	// shapes is liquid for each of the probe's parameters, in units of its
	// standard uncertainty; fades what a start warmer by 1 K does.
	shapes []float64
	fades  float64
	// learned is what the sum takes of a coefficient learned from the hold;
	// warmed is liquid for the points of warmed, probes for each probe alone.
	learned        float64
	warmed, probes []float64
	// settled is that of settling and of each of its doubts.
	settled []float64
	// thinning is Σ g times a law's derivative by the viscosity's change.
	thinning float64
}

// respond adds up the response of weights g.
func (f *fitting) respond(g []float64) response {
	var r response
	if f.learned != nil {
		moved := f.liquid.since(g)
		g, r.learned = f.learned.corrected(g, moved), f.learned.share*moved
	}
	var size float64
	for i, w := range g {
		r.sum += w
		r.time += w * f.t[i]
		r.pressure += w * (f.p[i] - f.p[0])
		size += math.Abs(w)
	}
	if math.Abs(r.sum) < rounding*size {
		r.sum = 0
	}
	r.pressure += r.sum * f.p[0]
	if f.liquid != nil {
		r.liquid, r.shapes, r.fades = f.liquid.since(g), f.liquid.shapesSince(g), f.liquid.fadesSince(g)
	}
	if f.ambient != nil {
		r.ambient = weightedSum(g, f.ambient)
	}
	if f.warmed != nil {
		for _, curve := range f.warmed.curves {
			r.warmed = append(r.warmed, weightedSum(g, curve))
		}
	}
	if len(f.single) > 1 {
		for _, l := range f.single {
			r.probes = append(r.probes, l.since(g))
		}
	}
	if f.upper != nil {
		r.lower, r.upper = f.lower.since(g), f.upper.since(g)
	}
	if f.follows.less != nil {
		r.less, r.more = f.follows.less.since(g), f.follows.more.since(g)
	}
	if f.settled != nil {
		for _, curve := range f.settled.curves {
			r.settled = append(r.settled, weightedSum(g, curve))
		}
	}
	return r
}

// plus returns a·r + b·s.
func (r response) plus(a, b float64, s response) response {
	of := func(x, y float64) float64 { return a*x + b*y }
	all := func(x, y []float64) (out []float64) {
		for i := range x {
			out = append(out, of(x[i], y[i]))
		}
		return out
	}
	return response{
		ambient: of(r.ambient, s.ambient),
		sum:     of(r.sum, s.sum), time: of(r.time, s.time), pressure: of(r.pressure, s.pressure),
		liquid: of(r.liquid, s.liquid), lower: of(r.lower, s.lower), upper: of(r.upper, s.upper),
		less: of(r.less, s.less), more: of(r.more, s.more),
		thinning: of(r.thinning, s.thinning),
		shapes:   all(r.shapes, s.shapes), fades: of(r.fades, s.fades), learned: of(r.learned, s.learned),
		warmed: all(r.warmed, s.warmed), probes: all(r.probes, s.probes), settled: all(r.settled, s.settled),
	}
}

// responses are those of a law's parameters.
type responses struct {
	law *law
	of  []response
}

func (f *fitting) responsesOf(l *law) responses {
	out := responses{law: l}
	for j := range l.size {
		var one function
		one.by[j] = 1
		g := l.weights(one)
		r := f.respond(g)
		if l.thinning != nil {
			r.thinning = weightedSum(g, l.thinning)
		}
		out.of = append(out.of, r)
	}
	return out
}

// to is the response of a function of the law.
func (r responses) to(f function) response {
	out := r.of[0].plus(f.by[0], 0, r.of[0])
	for j, other := range r.of[1:] {
		out = out.plus(1, f.by[j+1], other)
	}
	return out
}

// added returns x + y; y may be nil.
func added(x, y []float64) []float64 {
	out := append([]float64(nil), x...)
	for i, v := range y {
		out[i] += v
	}
	return out
}

func weightedSum(g, y []float64) float64 {
	var sum float64
	for i := range g {
		sum += g[i] * y[i]
	}
	return sum
}
