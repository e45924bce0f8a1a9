package decay

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"holdbench/analysis/fit"
	"holdbench/analysis/series"
)

const (
	// leftByCurve is how much more than their own noise squared the blocks may
	// leave before the readings are asked for a local curve.
	leftByCurve = 1.5
	// The local curve has a piece for every blocksPerPiece blocks, of which
	// there are at most mostLocalBlocks; under fewestLocalBlocks there is none.
	mostLocalBlocks   = 2400
	fewestLocalBlocks = 24
	blocksPerPiece    = 2
	// localBy is by how much −2 log likelihood must fall for it.
	//
	// Source: the house's own; 10 is decisive by most scales (mark P).
	localBy = 10.0
	// What a polynomial leaves cannot be the thermometer's noise where it is
	// more than noNoise times its own scatter and remembers for so long that
	// the hold has fewer than fewestFresh independent readings.
	noNoise, fewestFresh = 3.0, 40.0
)

// tryLocal lays a spline through the readings and keeps it where it is far
// more probable than the polynomial with noise that remembers (autocorrelated,
// first order), or in any case. scatter is that of single readings.
func (s *smooth) tryLocal(c series.Column, scatter float64, anyCase bool) {
	most := min(mostLocalBlocks, c.Len())
	if s.quantum > scatter/2 {
		// a staircase: no more blocks than steps, or the steps are followed
		most = min(most, changes(c.Value))
	}
	if most < fewestLocalBlocks {
		return
	}
	per := (c.Len() + most - 1) / most
	t, v := blockMeans(c, per)
	y, left := make([]float64, len(v)), make([]float64, len(v))
	for i := range v {
		y[i] = v[i] - s.base
		left[i] = y[i] - s.reading(t[i])
	}
	line, err := fit.Line(t, y)
	if err != nil {
		return
	}
	local, gain := newSpline(t, y, s.origin-s.half, s.origin+s.half, max(len(t)/blocksPerPiece, 1))
	n := float64(len(t))
	straight, byCurve := rms(line.Residuals, len(t)-2), innovations(left, len(s.coef))
	degree := float64(len(s.coef) - 1)
	likelier := anyCase || gain > 2*n*math.Log(straight/byCurve)-degree*math.Log(n)+localBy
	if inner := scatter / math.Sqrt(float64(per)); !likelier && !(rms(left, len(left)) > noNoise*math.Hypot(inner, s.quantum) && fresh(left) < fewestFresh) {
		return
	}
	for i := range left {
		value, _ := local.value(t[i])
		left[i] = y[i] - value
	}
	inflation, effective := fit.AR1Inflation(fit.Autocorrelation(left), len(t))
	s.local, s.perBlock = local, per
	s.noise, s.inflation = math.Sqrt(local.variance), inflation
	s.dof = max(effective-local.freedom, 1)
	s.sweep *= math.Sqrt(max(1, local.travelled()/(2*s.sweep)))
}

// travelled is the way that the curve goes up and down, K: it crosses as many
// steps of a reading, on each of which their errors are others.
func (s *spline) travelled() (way float64) {
	last, _ := s.value(s.from)
	for j := 1; j <= len(s.coef)-cubic; j++ {
		v, _ := s.value(s.from + float64(j)*s.step)
		way += math.Abs(v - last)
		last = v
	}
	return way
}

// fresh is the number of independent values among residuals.
func fresh(r []float64) float64 {
	_, effective := fit.AR1Inflation(fit.Autocorrelation(r), len(r))
	return effective
}

// innovations is the standard deviation of what is new in each of residuals of
// a fit with that many parameters, each remembering a share of the last.
func innovations(r []float64, parameters int) float64 {
	var own, with float64
	for i := 1; i < len(r); i++ {
		own, with = own+r[i-1]*r[i-1], with+r[i-1]*r[i]
	}
	if own == 0 {
		return 0
	}
	fresh := append([]float64(nil), r...)
	for i := 1; i < len(r); i++ {
		fresh[i] -= with / own * r[i-1]
	}
	return rms(fresh[1:], len(r)-1-parameters)
}

// changes counts how often successive values differ.
func changes(v []float64) (n int) {
	for i := 1; i < len(v); i++ {
		if math.Abs(v[i]-v[i-1]) > rounding*math.Abs(v[i]) {
			n++
		}
	}
	return n
}

// localPart has the spline's parameters as the liquid's temperature at the
// pressure readings is made of them.
type localPart struct {
	curve *spline
	scale float64 // σ, autocorrelation included
	lead  float64
	// rows are the curve at the readings, or on the grid where the liquid
	// follows; startRow that at t0.
	rows     []hatRow
	startRow hatRow
	t        []float64
	behind   *behind // nil where the liquid does not follow the probe
}

// hatRow is a curve at one time: weights of the coefficients from first on.
type hatRow struct {
	first  int
	weight [cubic + 1]float64
}

func (s *spline) row(t, lead float64) (r hatRow) {
	var slope [cubic + 1]float64
	r.first = s.hats(t, &r.weight, &slope)
	for k := range slope {
		r.weight[k] += lead * slope[k]
	}
	return r
}

// of is the curve there.
func (r hatRow) of(coef []float64) (sum float64) {
	for k, w := range r.weight {
		sum += w * coef[r.first+k]
	}
	return sum
}

// addTo adds g times the row to derivatives by the coefficients.
func (r hatRow) addTo(by []float64, g float64) {
	for k, w := range r.weight {
		by[r.first+k] += g * w
	}
}

// behind is a liquid that follows the probe on an even grid.
type behind struct {
	cells
	keep, first, second float64
	weightNow           float64
}

func (p *localPart) by(g []float64, sum float64) []float64 {
	by := make([]float64, len(p.curve.coef))
	if p.behind == nil {
		for i, w := range g {
			p.rows[i].addTo(by, w)
		}
		p.startRow.addTo(by, -sum)
	} else {
		for j, w := range p.behind.back(g, sum, len(p.rows)) {
			p.rows[j].addTo(by, w)
		}
	}
	p.curve.uncorrelated(by)
	floats.Scale(p.scale, by)
	return by
}

// back turns weights of the liquid at the readings, less sum at t0, into those
// of the probe on the grid: the way of lagged, backwards.
func (b *behind) back(g []float64, sum float64, n int) []float64 {
	liquid, probe := make([]float64, n), make([]float64, n)
	for i, w := range g {
		j := b.cell[i]
		liquid[j] += w * (1 - b.share[i])
		liquid[j+1] += w * b.share[i]
	}
	liquid[0] -= sum
	for j := n - 1; j > 0; j-- {
		probe[j] += b.second * liquid[j]
		probe[j-1] += b.first * liquid[j]
		liquid[j-1] += b.keep * liquid[j]
	}
	probe[0] += b.weightNow * liquid[0]
	return probe
}

// squareAt is for a liquid that follows the probe the probe's, which is not
// less.
func (p *localPart) squareAt(i int) float64 {
	return p.scale * p.scale * p.curve.square(p.t[i], p.lead)
}

// partOf is the spline's part of a liquid.
func (s *smooth) partOf(t []float64) *localPart {
	return &localPart{curve: s.local, scale: s.noise * s.inflation, t: t}
}

// leadLocally fills l with T_probe + lead·dT_probe/dt, lead ≥ 0.
func (s *smooth) leadLocally(l *liquid, lead float64, t []float64, start float64) {
	p := s.partOf(t)
	p.lead, p.startRow, p.rows = lead, s.local.row(start, lead), make([]hatRow, len(t))
	l.start, l.at = s.base+p.startRow.of(s.local.coef), make([]float64, len(t))
	for i, ti := range t {
		p.rows[i] = s.local.row(ti, lead)
		l.at[i] = s.base + p.rows[i].of(s.local.coef)
	}
	l.parts = []part{p}
}

// gridPerPiece is into how many steps a piece of the spline is cut where the
// liquid follows the probe; there are gridSteps at least.
const gridPerPiece = 4

// followLocally fills l with the probe's curve as the liquid follows it.
func (s *smooth) followLocally(l *liquid, lag float64, before series.Column, t []float64, start float64) {
	past := s.pastOf(l, start, lag, before, t)
	steps := max(gridSteps, gridPerPiece*(len(s.local.coef)-cubic))
	end := s.origin + s.half
	p := s.partOf(t)
	p.rows = make([]hatRow, steps+1)
	probe := make([]float64, steps+1)
	grid := make([]float64, steps+1)
	for j := range grid {
		grid[j] = start + (end-start)*float64(j)/float64(steps)
		p.rows[j] = s.local.row(grid[j], 0)
		probe[j] = p.rows[j].of(s.local.coef)
	}
	p.behind = &behind{cells: cellsOf(t, start, end, steps), weightNow: past.weightNow}
	p.behind.keep, p.behind.first, p.behind.second = lagStep((end-start)/float64(steps), lag)
	l.start = s.base + past.level + past.weightNow*probe[0]
	follows := lagged(grid, probe, l.start-s.base, lag)
	for i := range t {
		l.at[i] = s.base + p.behind.between(follows, i)
	}
	l.parts = append(l.parts, p)
}
