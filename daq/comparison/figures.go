package comparison

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq/sensor"
)

// Fit is the form of a correction.
type Fit string

// The forms of a correction: through the mean of each point, or a polynomial.
const (
	ByPoints    Fit = "points"
	ByLine      Fit = "line"
	ByQuadratic Fit = "quadratic"
)

// Fits are all of them, and how many points each needs at least: for a
// polynomial one more than it has coefficients, so that something is left to
// tell by whether it fits.
var Fits = []struct {
	Name  Fit
	Least int
}{{ByPoints, 2}, {ByLine, 3}, {ByQuadratic, 4}}

// What can keep a comparison from being evaluated.
var (
	ErrFewPoints = errors.New("comparison: too few points")
	ErrNotRising = errors.New("comparison: what the channel indicates does not rise with the reference")
)

// Options say how a comparison is evaluated.
type Options struct {
	Fit Fit
	// Unit is that in which a polynomial is written and points are rounded,
	// Change that of a difference.
	Unit, Change si.Unit
	// Resolution is the smallest step of the channel's reading, SI; 0: finer
	// than anything else.
	Resolution float64
}

// Figures are what a comparison says.
type Figures struct {
	Options
	Points []PointFigures // rising
	// Table or Curve is the correction; the other is empty.
	Table []sensor.Point
	Curve *sensor.CorrectionCurve
	// Hysteresis is the largest of the points' own; Repeatability the pooled
	// standard deviation of a repeated stop, NaN with one cycle; Residual the
	// largest deviation of a point's mean from the correction; Linearity the
	// largest from the best straight line, NaN with fewer than three points.
	Hysteresis, Repeatability, Residual, Linearity float64
	// AsFound and AsLeft are the largest deviations of a single stop with the
	// calibration that was and the one that is.
	AsFound, AsLeft float64
	Budget          uncertainty.Budget
	// U is the combined standard uncertainty with DOF effective degrees of
	// freedom; Stated is what a certificate states that has no degrees of
	// freedom: the standard uncertainty whose 95 % interval is as wide.
	U, DOF, Stated float64
}

// PointFigures are the means at one point over all cycles, SI.
type PointFigures struct {
	Nominal, Reference, Indicated float64
	// AsFound and AsLeft are mean deviations.
	AsFound, AsLeft float64
	// Hysteresis is the mean over the cycles of |down − up|; NaN where not both
	// were taken. Repeatability is the standard deviation of repeated stops of
	// one direction; NaN with one cycle.
	Hysteresis, Repeatability float64
	Stops                     int
}

// Evaluate fits the correction and returns all figures. The errors are
// ErrFewPoints, ErrNotRising and those of fit, wrapped.
func Evaluate(readings []Reading, o Options) (Figures, error) {
	f := Figures{Options: o}
	groups := byNominal(readings)
	for _, row := range Fits {
		if row.Name == o.Fit && len(groups) < row.Least {
			return f, fmt.Errorf("%w: %d, and %q needs at least %d", ErrFewPoints, len(groups), o.Fit, row.Least)
		}
	}
	f.means(groups)
	for i := 1; i < len(f.Points); i++ {
		if !(f.Points[i].Indicated > f.Points[i-1].Indicated && f.Points[i].Reference > f.Points[i-1].Reference) {
			return f, fmt.Errorf("%w between %v and %v", ErrNotRising, f.Points[i-1].Nominal, f.Points[i].Nominal)
		}
	}
	if err := f.correct(readings); err != nil {
		return f, err
	}
	f.scatter(groups)
	f.deviations(groups, readings)
	f.budget(readings)
	return f, nil
}

// byNominal groups the readings, in rising order of their nominal.
func byNominal(readings []Reading) [][]Reading {
	at := map[float64][]Reading{}
	var nominals []float64
	for _, r := range readings {
		if at[r.Nominal] == nil {
			nominals = append(nominals, r.Nominal)
		}
		at[r.Nominal] = append(at[r.Nominal], r)
	}
	slices.Sort(nominals)
	groups := make([][]Reading, len(nominals))
	for i, n := range nominals {
		groups[i] = at[n]
	}
	return groups
}

// means are those of each point.
func (f *Figures) means(groups [][]Reading) {
	for _, g := range groups {
		p := PointFigures{Nominal: g[0].Nominal, Stops: len(g)}
		for _, r := range g {
			n := float64(len(g))
			p.Reference += r.Reference / n
			p.Indicated += r.Indicated / n
			p.AsFound += (r.AsFound - r.Reference) / n
		}
		f.Points = append(f.Points, p)
	}
}

// correct finds the correction: through the means, or a polynomial over all
// stops.
func (f *Figures) correct(readings []Reading) error {
	f.Linearity = math.NaN()
	if len(f.Points) > 2 {
		line, err := f.polynomial(readings, 2)
		if err != nil {
			return err
		}
		f.Linearity = f.worst(line.Correct)
	}
	switch f.Fit {
	case ByLine, ByQuadratic:
		order := map[Fit]int{ByLine: 2, ByQuadratic: 3}[f.Fit]
		curve, err := f.polynomial(readings, order)
		if err != nil {
			return err
		}
		if !curve.Rises() {
			return fmt.Errorf("%w: the %s turns", ErrNotRising, f.Fit)
		}
		f.Curve = curve
	default:
		for _, p := range f.Points {
			f.Table = append(f.Table, sensor.Point{Reference: f.rounded(p.Reference), Indicated: f.rounded(p.Indicated)})
		}
	}
	f.Residual = f.worst(f.Correct)
	return nil
}

// Correct returns the corrected value of an indication.
func (f *Figures) Correct(indicated float64) float64 {
	if f.Curve != nil {
		return f.Curve.Correct(indicated)
	}
	return sensor.Correct(f.Table, indicated)
}

// worst is the largest deviation of a point's mean from a correction.
func (f *Figures) worst(correct func(float64) float64) (worst float64) {
	for _, p := range f.Points {
		worst = max(worst, math.Abs(correct(p.Indicated)-p.Reference))
	}
	return worst
}

// rounded is a figure of a certificate: to a millionth of the span's size, in
// its unit, so that what is written is what is used.
func (f *Figures) rounded(x float64) float64 {
	last := f.Points[len(f.Points)-1]
	size := math.Max(math.Abs(last.Reference-f.Points[0].Reference)/f.Unit.Factor, 1e-9)
	step := math.Pow(10, math.Ceil(math.Log10(size))-6)
	return f.Unit.ToSI(math.Round(f.Unit.FromSI(x)/step) * step)
}

// polynomial fits the reference, in Unit, to so many powers of what was
// indicated, in Unit.
func (f *Figures) polynomial(readings []Reading, order int) (*sensor.CorrectionCurve, error) {
	x, y := mat.NewDense(len(readings), order, nil), make([]float64, len(readings))
	low, high := math.Inf(1), math.Inf(-1)
	for i, r := range readings {
		power, at := 1.0, f.Unit.FromSI(r.Indicated)
		for k := range order {
			x.Set(i, k, power)
			power *= at
		}
		y[i] = f.Unit.FromSI(r.Reference)
		low, high = min(low, r.Indicated), max(high, r.Indicated)
	}
	found, err := fit.LeastSquares(x, y)
	if err != nil {
		return nil, fmt.Errorf("comparison: %w", err)
	}
	return &sensor.CorrectionCurve{Coefficients: found.Coefficients, Unit: f.Unit, Low: low, High: high}, nil
}

// scatter is hysteresis and repeatability of each point and over all.
func (f *Figures) scatter(groups [][]Reading) {
	var sum, dof float64
	for i, g := range groups {
		p := &f.Points[i]
		p.Hysteresis = hysteresis(g)
		if p.Hysteresis > f.Hysteresis {
			f.Hysteresis = p.Hysteresis
		}
		s, d := repeated(g)
		p.Repeatability = math.Sqrt(s / d) // NaN without repetition
		sum, dof = sum+s, dof+d
	}
	f.Repeatability = math.Sqrt(sum / dof)
}

func (r Reading) deviation() float64 { return r.Indicated - r.Reference }

// hysteresis is the mean over the cycles of |down − up|.
//
// Source: [2].
func hysteresis(g []Reading) float64 {
	sum, n := 0.0, 0
	for _, up := range g {
		for _, down := range g {
			if up.Up && !down.Up && up.Cycle == down.Cycle {
				sum, n = sum+math.Abs(down.deviation()-up.deviation()), n+1
			}
		}
	}
	return sum / float64(n)
}

// repeated returns the sum of squares of the stops of one direction about
// their mean, and its degrees of freedom, both directions together.
func repeated(g []Reading) (sum, dof float64) {
	for _, up := range []bool{true, false} {
		mean, n := 0.0, 0.0
		for _, r := range g {
			if r.Up == up {
				n++
				mean += (r.deviation() - mean) / n
			}
		}
		for _, r := range g {
			if r.Up == up {
				sum += (r.deviation() - mean) * (r.deviation() - mean)
			}
		}
		dof += max(n-1, 0)
	}
	return sum, dof
}

// deviations with the old calibration and the new one.
func (f *Figures) deviations(groups [][]Reading, readings []Reading) {
	for i, g := range groups {
		for _, r := range g {
			f.Points[i].AsLeft += (f.Correct(r.Indicated) - r.Reference) / float64(len(g))
		}
	}
	for _, r := range readings {
		f.AsFound = max(f.AsFound, math.Abs(r.AsFound-r.Reference))
		f.AsLeft = max(f.AsLeft, math.Abs(f.Correct(r.Indicated)-r.Reference))
	}
}

// budget puts the standard uncertainty of a corrected value together, the
// largest over the points for each line.
//
// Sources: [1] 4.3.7 for the rectangular ones, 5.1.2, G.4; [2].
func (f *Figures) budget(readings []Reading) {
	exact := math.Inf(1)
	reference, dof := 0.0, 0.0
	for _, r := range readings {
		reference = max(reference, r.ReferenceU)
	}
	for _, g := range byNominal(readings) {
		_, d := repeated(g)
		dof += d
	}
	f.Budget = uncertainty.Budget{{Source: "reference", StdUncertainty: reference, DegreesOfFreedom: exact, Note: "as stated, the largest"}}
	if dof > 0 {
		f.Budget = append(f.Budget, uncertainty.Line{Source: "repeatability", StdUncertainty: f.Repeatability, DegreesOfFreedom: dof,
			Note: "standard deviation of a repeated stop, all points together"})
	}
	f.Budget = append(f.Budget,
		uncertainty.Line{Source: "hysteresis", StdUncertainty: f.Hysteresis / math.Sqrt(12), DegreesOfFreedom: exact, Note: "rectangular, its largest width"},
		uncertainty.Line{Source: "residuals", StdUncertainty: f.Residual / math.Sqrt(3), DegreesOfFreedom: exact, Note: "rectangular, the largest"},
		uncertainty.Line{Source: "resolution", StdUncertainty: f.Resolution / math.Sqrt(12), DegreesOfFreedom: exact, Note: "rectangular, one step"},
	)
	f.U, f.DOF = f.Budget.Combined()
	f.Stated = uncertainty.T(0.975, f.DOF) / uncertainty.T(0.975, exact) * f.U
}
