package decay

import (
	"math"

	"holdbench/analysis/series"
)

// gridSteps is into how many steps a hold is cut where the liquid follows the
// probe: the smooth curve between two of them is as good as straight.
const gridSteps = 512

// liquidOf carries the probe's smooth curve to the liquid.
//
//	lag > 0, the liquid follows the probe:  dT_f/dt = (T_probe − T_f)/lag
//	lag < 0, the probe follows the liquid:  T_f = T_probe + |lag|·dT_probe/dt
//
// The latter is a pure lead; for a liquid that itself follows see leading.
// For lag > 0 the liquid starts behind the record's first temperature, as if
// that had changed before as it did then (unremembered); before are the
// probe's readings before t0 (spikes removed), which it follows until t0.
// t are the pressure readings' instants, start is t0.
func (s *smooth) liquidOf(lag float64, before series.Column, t []float64, start float64) *liquid {
	l := &liquid{dof: s.dof, noise: s.noise, resolution: s.resolution, quantum: s.quantum, sweep: s.sweep}
	switch {
	case s.local != nil && lag > 0:
		s.followLocally(l, lag, before, t, start)
	case s.local != nil:
		s.leadLocally(l, -lag, t, start)
	case lag > 0:
		s.follow(l, lag, before, t, start)
	default:
		s.lead(l, -lag, t, start)
	}
	return l
}

// lead fills l with T_probe + lead·dT_probe/dt, lead ≥ 0.
func (s *smooth) lead(l *liquid, lead float64, t []float64, start float64) {
	n := len(s.coef)
	value, slope := make([]float64, n), make([]float64, n)
	d := dense{table(n, len(t)), make([]float64, n), s.variance}
	l.parts = []part{d}
	l.at = make([]float64, len(t))
	fill := func(ti float64, set func(k int, v float64)) float64 {
		s.poly.at((ti-s.origin)/s.half, value, slope)
		sum := s.base
		for k := range value {
			v := value[k] + lead*slope[k]/s.half
			set(k, v)
			sum += s.coef[k] * v
		}
		return sum
	}
	l.start = fill(start, func(k int, v float64) { d.startShape[k] = v })
	for i, ti := range t {
		l.at[i] = fill(ti, func(k int, v float64) { d.shapes[k][i] = v })
	}
}

// follow fills l with the probe's curve as the liquid follows it.
func (s *smooth) follow(l *liquid, lag float64, before series.Column, t []float64, start float64) {
	n := len(s.coef)
	grid := make([]float64, gridSteps+1)
	probe := table(n, len(grid))
	value, slope := make([]float64, n), make([]float64, n)
	end := s.origin + s.half
	for j := range grid {
		grid[j] = start + (end-start)*float64(j)/gridSteps
		s.poly.at((grid[j]-s.origin)/s.half, value, slope)
		for k, v := range value {
			probe[k][j] = v
		}
	}
	past := s.pastOf(l, start, lag, before, t)
	l.start = s.base + past.level
	c := cellsOf(t, start, end, gridSteps)
	d := dense{table(n, len(t)), make([]float64, n), s.variance}
	for i := range t {
		l.at[i] = s.base + past.level*l.fades[i]
	}
	for k := range n {
		d.startShape[k] = past.weightNow * probe[k][0]
		l.start += s.coef[k] * d.startShape[k]
		filtered := lagged(grid, probe[k], d.startShape[k], lag)
		for i := range t {
			d.shapes[k][i] = c.between(filtered, i)
			l.at[i] += s.coef[k] * d.shapes[k][i]
		}
	}
	l.parts = append([]part{d}, l.parts...)
}

// pastOf returns what the liquid remembers at t0, and puts what it may be
// wrong by into l.
func (s *smooth) pastOf(l *liquid, start, lag float64, before series.Column, t []float64) past {
	past := s.pastUntil(start, lag, before)
	behind := s.unremembered(start, lag, before)
	past.level -= behind
	l.startDoubt = math.Abs(behind)
	l.at, l.fades = make([]float64, len(t)), make([]float64, len(t))
	for i, ti := range t {
		l.fades[i] = math.Exp(-(ti - start) / lag)
	}
	l.parts = append(l.parts, dense{[][]float64{l.fades}, []float64{1}, []float64{past.variance}})
	return past
}

// cells say between which steps of an even grid times lie.
type cells struct {
	cell  []int
	share []float64
}

func cellsOf(t []float64, start, end float64, steps int) cells {
	c := cells{make([]int, len(t)), make([]float64, len(t))}
	for i, ti := range t {
		at := (ti - start) / (end - start) * float64(steps)
		c.cell[i] = min(max(int(at), 0), steps-1)
		c.share[i] = at - float64(c.cell[i])
	}
	return c
}

// between interpolates values on the grid at time i.
func (c cells) between(v []float64, i int) float64 {
	j := c.cell[i]
	return v[j] + c.share[i]*(v[j+1]-v[j])
}

// past is what the liquid remembers at t0 of the readings before: T_f(t0) =
// base + level + weightNow·(T_probe(t0) − base).
type past struct {
	level, variance, weightNow float64
}

// pastUntil runs the liquid through the readings before t0.
func (s *smooth) pastUntil(start, lag float64, before series.Column) past {
	if before.Len() == 0 {
		return past{weightNow: 1}
	}
	t, v := blockMeans(before, max(s.perBlock, (before.Len()+4*mostBlocks-1)/(4*mostBlocks)))
	t = append(t, start)
	weights := make([]float64, len(t))
	carried := 1.0
	for j := len(t) - 2; j >= 0; j-- {
		keep, first, second := lagStep(t[j+1]-t[j], lag)
		weights[j+1] += carried * second
		weights[j] += carried * first
		carried *= keep
	}
	weights[0] += carried
	p := past{weightNow: weights[len(t)-1]}
	for j := range v {
		p.level += weights[j] * (v[j] - s.base)
		p.variance += weights[j] * weights[j]
	}
	p.variance *= s.noise * s.noise * s.inflation * s.inflation
	return p
}

// unremembered is by how much the liquid is at t0 behind what it remembers of
// the readings before, K: before the first of them the probe is taken to have
// changed for long as it did over the first lag, which leaves the liquid
// behind by lag times that slope; it forgets that with the lag. It may as well
// have stood still, or changed twice as quickly: the doubt is the whole of it.
func (s *smooth) unremembered(start, lag float64, before series.Column) float64 {
	history, slope := 0.0, 0.0
	if before.Len() > 0 {
		history = start - before.Time[0]
	}
	if first := before.Window(math.Inf(-1), start-history+lag); history >= lag/4 && first.Len() >= fewestReadings {
		w, _ := slopeWeights(first.Time)
		slope = weighted(w, first.Value)
	} else {
		ahead := min(lag, 2*s.half)
		slope = (s.reading(start+ahead) - s.reading(start)) / ahead
	}
	return lag * slope * math.Exp(-history/lag)
}

// reading is the smooth curve at a time, less base.
func (s *smooth) reading(t float64) float64 {
	if s.local != nil {
		v, _ := s.local.value(t)
		return v
	}
	value, slope := make([]float64, len(s.coef)), make([]float64, len(s.coef))
	s.poly.at((t-s.origin)/s.half, value, slope)
	return weightedSum(s.coef, value)
}

// lagged runs a first-order lag over values that are straight between the
// times, from the given start.
func lagged(t, v []float64, start, lag float64) []float64 {
	out := make([]float64, len(t))
	out[0] = start
	for j := 1; j < len(t); j++ {
		keep, first, second := lagStep(t[j]-t[j-1], lag)
		out[j] = keep*out[j-1] + first*v[j-1] + second*v[j]
	}
	return out
}

// lagStep returns the weights of the lagged value before, and of the driving
// value before and after, over a step dt on which the driving value is
// straight; they sum to 1.
//
// Source: exact solution of dT_f/dt = (T − T_f)/lag (mark L).
func lagStep(dt, lag float64) (keep, first, second float64) {
	if !(dt > 0) {
		return 1, 0, 0
	}
	r := dt / lag
	keep = math.Exp(-r)
	share := -math.Expm1(-r) / r // mean of exp(−s/lag) over the step
	return keep, share - keep, 1 - share
}

func table(rows, columns int) [][]float64 {
	all := make([]float64, rows*columns)
	out := make([][]float64, rows)
	for i := range out {
		out[i] = all[i*columns : (i+1)*columns : (i+1)*columns]
	}
	return out
}
