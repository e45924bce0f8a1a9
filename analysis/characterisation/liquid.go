package characterisation

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// gridSteps is into how many steps a window is cut where the liquid follows
// the probe.
const gridSteps = 1024

// liquid is the liquid's temperature at some instants, less the probe's base:
//
//	T_f(t_i) = at[i] + Σ_k z_k·shapes[k][i],  z_k uncorrelated, variance 1
type liquid struct {
	at     []float64
	shapes [][]float64
}

// liquid carries the probe's curve to the liquid.
//
//	lag > 0, the liquid follows the probe:  dT_f/dt = (T_probe − T_f)/lag
//	lag < 0, the probe follows the liquid:  T_f = T_probe + |lag|·dT_probe/dt
//
// What the liquid was at the window's start is the last of the shapes, with a
// doubt: as far from the probe as the lag makes it at the window's usual slope,
// and at least least (K).
func (p *probe) liquid(lag float64, t []float64, least float64) liquid {
	return p.filtered(max(lag, 0), max(-lag, 0), t, least)
}

// filtered is liquid for both at once: the probe follows what drives it with
// the time constant lead, the liquid with the time constant lag ≥ 0.
//
//	lag·dT_f/dt + T_f = T_probe + lead·dT_probe/dt
func (p *probe) filtered(lag, lead float64, t []float64, least float64) liquid {
	n := len(p.coef)
	basis := make([][]float64, n)
	for k := range basis {
		basis[k] = make([]float64, len(t))
	}
	start := make([]float64, len(t))
	if lag > 0 {
		p.follow(basis, start, lag, lead, t)
	} else {
		p.lead(basis, lead, t)
	}
	_, doubts := p.root.Dims()
	l := liquid{at: make([]float64, len(t)), shapes: make([][]float64, doubts+1)}
	for k, c := range p.coef {
		for i, v := range basis[k] {
			l.at[i] += c * v
		}
	}
	for j := range doubts {
		l.shapes[j] = make([]float64, len(t))
		for k := range n {
			w := p.root.At(k, j)
			if w == 0 {
				continue
			}
			for i, v := range basis[k] {
				l.shapes[j][i] += w * v
			}
		}
	}
	wide := max(lag*p.slope, least)
	for i := range start {
		start[i] *= wide
	}
	l.shapes[doubts] = start
	return l
}

func (p *probe) lead(basis [][]float64, lead float64, t []float64) {
	scale := float64(p.pieces) / (p.to - p.from)
	for i, ti := range t {
		x := (ti - p.from) * scale
		first, b := spline(x, p.pieces)
		_, d := splineSlope(x, p.pieces)
		for k := range b {
			basis[first+k][i] = b[k] + lead*d[k]*scale
		}
	}
}

// follow runs each piece through the lag, from where a steady slope has left
// it. Between two places of the grid a piece is taken as straight.
//
// With F the probe's curve through the lag alone, that with the lead is
// (1 − lead/lag)·F + lead/lag·T_probe.
func (p *probe) follow(basis [][]float64, start []float64, lag, lead float64, t []float64) {
	step := (p.to - p.from) / gridSteps
	r := step / lag
	keep := math.Exp(-r)
	share := -math.Expm1(-r) / r
	grid := mat.NewDense(len(basis), gridSteps+1, nil)
	for j := range gridSteps + 1 {
		first, b := spline(float64(j)/gridSteps*float64(p.pieces), p.pieces)
		for k := range b {
			grid.Set(first+k, j, b[k])
		}
	}
	_, slope := splineSlope(0, p.pieces)
	for k := range basis {
		row := grid.RawRowView(k)
		before, behind := row[0], row[0]
		if k < len(slope) {
			behind -= lag * slope[k] * float64(p.pieces) / (p.to - p.from)
		}
		row[0] = behind
		for j := 1; j <= gridSteps; j++ {
			now := row[j]
			behind = keep*behind + (share-keep)*before + (1-share)*now
			row[j], before = behind, now
		}
		for i, ti := range t {
			at := (ti - p.from) / step
			cell := min(max(int(at), 0), gridSteps-1)
			basis[k][i] = (1 - lead/lag) * (row[cell] + (at-float64(cell))*(row[cell+1]-row[cell]))
		}
	}
	for i, ti := range t {
		first, b := spline((ti-p.from)/(p.to-p.from)*float64(p.pieces), p.pieces)
		for k := range b {
			basis[first+k][i] += lead / lag * b[k]
		}
	}
	for i, ti := range t {
		start[i] = math.Exp(-(ti - p.from) / lag)
	}
}
