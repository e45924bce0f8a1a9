package decay

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"holdbench/analysis/fit"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// piece is a segment among what is fitted: places first to below end in t, and
// in the readings.
type piece struct {
	Segment
	first, end        int
	fromRead, endRead int
	// fromDrawn to below endDrawn among what is drawn.
	fromDrawn, endDrawn int
}

// interrupted: the hold has more than one segment.
func (f *fitting) interrupted() bool { return len(f.pieces) > 1 }

// takeSegments keeps the readings of the segments alone, where there are
// several. Of one segment that is stated the hold is all.
func (f *fitting) takeSegments() {
	segments := f.in.Segments
	if len(segments) == 0 {
		segments = Segments(f.readings, f.in.Known.Warming)
	}
	if len(segments) < 2 {
		return
	}
	kept := series.Column{Name: f.readings.Name, Quantity: f.readings.Quantity}
	for _, s := range segments {
		s.From, s.End = max(s.From, s.Start, f.in.Start), min(s.End, f.in.End)
		part := f.readings.Window(s.From, s.End)
		if part.Len() < fewestInSegment {
			continue
		}
		f.pieces = append(f.pieces, piece{Segment: s, fromRead: kept.Len(), endRead: kept.Len() + part.Len()})
		kept.Time, kept.Value = append(kept.Time, part.Time...), append(kept.Value, part.Value...)
	}
	if len(f.pieces) < 2 {
		f.pieces = nil
		return
	}
	f.pumping(f.readings)
	f.readings = kept
	f.diagnostics.Segments = len(f.pieces)
	for _, p := range f.pieces {
		f.diagnostics.Held += p.End - p.Start
	}
}

// unlessPumped leaves out jumps that lie between segments, or where the
// readings after a re-pump are left out.
func (f *fitting) unlessPumped(jumps []Jump) (left []Jump) {
	for _, j := range jumps {
		inside := !f.interrupted()
		for _, p := range f.pieces {
			inside = inside || (j.At-j.Within > p.From && j.At+j.Within < p.End)
		}
		if inside {
			left = append(left, j)
		}
	}
	return left
}

// gatherPieces averages the readings of each piece in blocks where they are very
// many, and says where each piece is among what is fitted.
func (f *fitting) gatherPieces() series.Column {
	out := series.Column{}
	for i := range f.pieces {
		p := &f.pieces[i]
		part := series.Column{Time: f.readings.Time[p.fromRead:p.endRead], Value: f.readings.Value[p.fromRead:p.endRead]}
		if f.gathered() {
			share := float64(part.Len()) / float64(f.readings.Len())
			part = evenBlocks(part, min(part.Len(), max(fewestInSegment, int(share*mostFitted))))
		}
		p.first, p.end = out.Len(), out.Len()+part.Len()
		out.Time, out.Value = append(out.Time, part.Time...), append(out.Value, part.Value...)
	}
	return out
}

// parts are the pieces, or all as one.
func (f *fitting) parts() []piece {
	if f.interrupted() {
		return f.pieces
	}
	return []piece{{end: len(f.t), endRead: f.readings.Len(), endDrawn: f.drawn.Len()}}
}

// lay lays the laws, or, through an interrupted hold, lines of one slope.
func (f *fitting) lay() error {
	if f.interrupted() {
		return f.layParallel()
	}
	return f.layLaws()
}

// layParallel lays lines of one slope, each of its own level, through the
// segments of the compensated pressure:
//
//	b = ΣΣ (t − t̄_s)(p − p̄_s) / ΣΣ (t − t̄_s)²
//
// with N − S − 1 degrees of freedom.
//
// Source: analysis of covariance, one slope within groups: Fisher, R. A.,
// Statistical Methods for Research Workers, 4th ed. 1932, section 49.1 (mark M).
func (f *fitting) layParallel() error {
	y := f.compensate()
	l, err := parallel(f.t, y, f.pieces)
	if err != nil {
		return err
	}
	f.choice = choice{laid: make([]*law, len(models)), aicc: make([]float64, len(models)),
		reason: fmt.Sprintf("one slope through %d segments, each of its own level: over so many levels no other law can be told from it", len(f.pieces))}
	for i := range f.choice.aicc {
		f.choice.aicc[i] = math.NaN()
	}
	f.choice.laid[0], f.choice.weight = l, make([]float64, len(models))
	f.choice.weight[0] = 1
	f.diagnostics.BlockMeanRate, f.diagnostics.BlockMeanRateU = math.NaN(), math.NaN()
	f.takeSteps()
	f.sweep = 0
	for _, p := range f.pieces {
		part := f.p[p.first:p.end]
		f.sweep = max(f.sweep, floats.Max(part)-floats.Min(part))
	}
	return nil
}

// parallel lays lines of one slope through the pieces of t, p. The first
// parameter is the mean pressure, the second the slope. The errors are
// fit.ErrTooFew and fit.ErrRank.
func parallel(t, p []float64, pieces []piece) (*law, error) {
	n := len(t)
	dof := n - len(pieces) - 1
	if dof < 1 {
		return nil, fmt.Errorf("one slope through %d segments: %w", len(pieces), fit.ErrTooFew)
	}
	l := &law{model: straight, frame: frame{middle: mean(t)}, residuals: make([]float64, n)}
	l.title = "lines of one slope"
	l.slopes = table(2, n)
	square := 0.0
	for _, s := range pieces {
		middle, level := mean(t[s.first:s.end]), meanFrom(p[s.first:s.end])
		for i := s.first; i < s.end; i++ {
			from := t[i] - middle
			l.slopes[0][i], l.slopes[1][i], l.residuals[i] = 1, from, p[i]-level
			square += from * from
			l.c[1] += from * (p[i] - level)
		}
	}
	if !(square > 0) {
		return nil, fmt.Errorf("one slope through %d segments: %w", len(pieces), fit.ErrRank)
	}
	l.c = vector{meanFrom(p), l.c[1] / square}
	l.unit = matrix{{1 / float64(n)}, {0, 1 / square}}
	for i, from := range l.slopes[1] {
		l.residuals[i] -= l.c[1] * from
		l.rss += l.residuals[i] * l.residuals[i]
	}
	l.std = math.Sqrt(l.rss / float64(dof))
	l.remembers(fit.MemoryOf(l.residuals, len(pieces)+1))
	return l, nil
}

// held is for how long the unit was held: the whole hold, or its segments.
func (f *fitting) held() float64 {
	if f.interrupted() {
		return f.diagnostics.Held
	}
	return f.duration
}

// acrossSegments is why a pressure at an instant says nothing of the unit.
const acrossSegments = "the hold was interrupted: its pressures before and after are not of one level"

// pumping fills what the re-pumps themselves say of the loss: between two of
// them the pressure falls from where one left it to where the next begins.
//
//	rate = Σ fall / Σ time
//
// Their scatter is its uncertainty.
//
// Source: q = C·Δp/period, a balance (mark L).
func (f *fitting) pumping(all series.Column) {
	d := &f.diagnostics
	d.RepumpRate, d.RepumpRateU, d.RepumpInterval = math.NaN(), math.NaN(), math.NaN()
	var falls, times []float64
	for i := 1; i < len(f.pieces); i++ {
		last, next := f.pieces[i-1], f.pieces[i]
		before, after := all.Window(last.Start, last.End), all.Window(next.Start, next.End)
		if before.Len() == 0 || after.Len() == 0 || !(after.Value[0] > before.Value[before.Len()-1]) {
			continue
		}
		d.Repumps++
		if i > 1 { // the first segment does not begin with a re-pump
			falls = append(falls, before.Value[0]-before.Value[before.Len()-1])
			times = append(times, last.End-last.Start)
		}
	}
	if d.Repumps < fewestRepumps || len(falls) < fewestRepumps-1 {
		return
	}
	fall, time := floats.Sum(falls), floats.Sum(times)
	d.RepumpInterval = time / float64(len(times))
	d.RepumpRate = fall / time
	var scatter float64
	for i := range falls {
		stray := falls[i] - d.RepumpRate*times[i]
		scatter += stray * stray
	}
	k := float64(len(falls))
	d.RepumpRateU = math.Sqrt(scatter*k/(k-1)) / time
}

// fewestRepumps is from how many re-pumps on they say something themselves.
const fewestRepumps = 3

// lostInAll is the drop of an interrupted hold: the rate times the time
// held.
func (f *fitting) lostInAll(rate Quantity) Quantity { return rate.scaled(f.held(), si.PressureChange) }
