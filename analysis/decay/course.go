package decay

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// withoutCourse marks as not computed what examineCourse fills.
func (d *Diagnostics) withoutCourse() {
	nan := math.NaN()
	d.RunsZ, d.HalfRates, d.HalvesT, d.HalvesDOF = nan, [2]float64{nan, nan}, nan, nan
	d.ZeroShift, d.ZeroShiftU = nan, nan
	if d.Repumps < fewestRepumps {
		d.RepumpInterval, d.RepumpRate, d.RepumpRateU = nan, nan, nan
	}
}

// examineCourse fills what says whether the hold was the same from beginning
// to end.
func (f *fitting) examineCourse() {
	d := &f.diagnostics
	d.withoutCourse()
	std, inflation, dof, residuals := f.scatter()
	d.RunsZ = runs(residuals)
	d.SpikeInfluence = f.spikeInfluence()
	if f.in.Zeros.usable() {
		shift := f.in.Zeros.Shift()
		d.ZeroShift, d.ZeroShiftU = shift.Value, shift.StdUncertainty
	}
	if f.interrupted() {
		d.CurvatureT, d.CurvatureDOF = math.NaN(), math.NaN()
	}
	f.compareHalves(std, inflation, dof)
}

// scatter is what the curve that was taken leaves.
func (f *fitting) scatter() (std, inflation, dof float64, residuals []float64) {
	if s := f.instead; s != nil {
		return s.std, s.inflation, s.dof, s.residuals
	}
	l := f.choice.law()
	return l.std, l.inflation, l.dof, l.residuals
}

// runs is the number of runs of one sign less the expected one, over its
// standard deviation; NaN where there are not two signs.
//
//	E = 2·n₁·n₂/n + 1,  s² = (E − 1)(E − 2)/(n − 1)
//
// Source: Wald, A. and Wolfowitz, J., Ann. Math. Stat. 11 (1940) 147 (mark M).
func runs(residuals []float64) float64 {
	var above, below, number float64
	last := 0.0
	for _, r := range residuals {
		switch {
		case r > 0:
			above++
		case r < 0:
			below++
		default:
			continue
		}
		if r*last <= 0 {
			number++
		}
		last = r
	}
	n := above + below
	expected := 2*above*below/n + 1
	s := math.Sqrt((expected - 1) * (expected - 2) / (n - 1))
	if !(s > 0) {
		return math.NaN()
	}
	return (number - expected) / s
}

// compareHalves takes the rate of either half of the hold, each of the
// segments' slopes where there are several, and by how much they differ.
func (f *fitting) compareHalves(std, inflation, dof float64) {
	d := &f.diagnostics
	first, ok1 := f.halfWeights(0, f.duration/2)
	second, ok2 := f.halfWeights(f.duration/2, math.Inf(1))
	if f.liquid == nil || !ok1 || !ok2 {
		return
	}
	y := f.compensated
	if f.settled != nil {
		y = added(y, f.settled.curves[0])
	}
	differ := make([]float64, len(first))
	for i := range differ {
		differ[i] = first[i] - second[i] // slopes are losses turned round
	}
	d.HalfRates = [2]float64{-weighted(first, y), -weighted(second, y)}
	spread := math.Sqrt(weightedSum(differ, differ))
	noise := uncertainty.Line{Source: SourceNoise, StdUncertainty: std * inflation * spread, DegreesOfFreedom: dof}
	r := f.respond(differ)
	budget := f.withSettling(f.readingLines(noise, r, f.root()*spread), r, nil)
	u, dof := budget.Combined()
	d.HalvesT, d.HalvesDOF = (d.HalfRates[1]-d.HalfRates[0])/u, dof
}

// halfWeights are those with which the readings from a time to before another,
// since t0, make their slope; false with too few of them.
func (f *fitting) halfWeights(from, to float64) (w []float64, ok bool) {
	w = make([]float64, len(f.t))
	square, count := 0.0, 0
	for _, p := range f.parts() {
		first := p.first
		for first < p.end && f.t[first] < from {
			first++
		}
		end := first
		for end < p.end && f.t[end] < to {
			end++
		}
		if end-first < fewestInSegment {
			continue
		}
		count += end - first
		middle := mean(f.t[first:end])
		for i := first; i < end; i++ {
			w[i] = f.t[i] - middle
			square += w[i] * w[i]
		}
	}
	if count < fewestInHalf || !(square > 0) {
		return nil, false
	}
	for i := range w {
		w[i] /= square
	}
	return w, true
}

// fewestInHalf is how many readings a half has at the least.
const fewestInHalf = 6

// spikeInfluence is by how much the readings that were set aside would move the
// decay rate of a line, to first order: they are few.
func (f *fitting) spikeInfluence() float64 {
	c := f.curves
	n := len(c.Time)
	if f.set.Len() == 0 || n < fewestInSegment {
		return 0
	}
	middle, square := aboutMean(c.Time)
	square *= float64(f.readings.Len()) / float64(n)
	expected := make([]float64, n)
	for i := range expected {
		expected[i] = c.Measured[i] - c.Compensated[i] + c.Fitted[i]
	}
	moved := 0.0
	for i, t := range f.set.Time {
		moved -= (t - middle) * (f.set.Value[i] - interpolate(c.Time, expected, t)) / square
	}
	return moved
}

// aboutMean returns the mean and the sum of squares about it.
func aboutMean(t []float64) (middle, square float64) {
	middle = meanFrom(t)
	for _, v := range t {
		square += (v - middle) * (v - middle)
	}
	return middle, square
}
