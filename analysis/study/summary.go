package study

import (
	"math"
	"slices"
)

// Figure is a share or a mean over benches with its standard error by bench;
// NaN where nothing was counted.
type Figure struct{ Value, Error float64 }

// Figures are what came out of tests, rates in limits.
type Figures struct {
	Tests, Benches int
	// LimitOverU is the limit over the mean standard uncertainty of what the
	// limit is on.
	LimitOverU float64
	Decay      RateFigures
	Leak       RateFigures
	// FailGood is P(FAIL | good), PassLeaking P(PASS | leak), Forbidden the
	// share of tests far from the limit with the wrong verdict.
	FailGood, PassLeaking, Forbidden Figure
	Inconclusive, Invalid            Figure
	// Time is the mean time to the verdict, as a share of the hold.
	Time Figure
}

// RateFigures are bias and RMS error in limits, and the coverage of 95 %
// intervals; Given is the share of tests with an estimate.
type RateFigures struct{ Bias, RMS, Coverage, Given Figure }

// Row is one line of the study's table: a judge in a cell, a scene or all of
// them.
type Row struct {
	Judge, Scene, Title string
	// Leak in limits; NaN over all leaks.
	Leak  float64
	All   Figures
	Worst Figures // the tenth of the benches with the largest RMS error
}

// Result is a study: rows by cell, by scene and over everything, by judge.
type Result struct {
	// Judges are those tried and those made honest of them.
	Judges  []Judge
	Cells   []Row
	Scenes  []Row
	Overall []Row
}

// Summarise adds up what the benches did: tallies[bench][cell][judge] in the
// order of Bench.
func Summarise(cells []Cell, judges []Judge, tallies [][][]Tally) Result {
	r := Result{Judges: judges}
	for j, judge := range judges {
		r.sum(cells, judge, j, tallies)
	}
	for j, judge := range judges {
		if judge.Honest != "" {
			more, again := honest(cells, judges, j, tallies)
			r.sum(cells, more, 0, again)
			r.Judges = append(r.Judges[:len(r.Judges):len(r.Judges)], more)
		}
	}
	return r
}

// sum adds the rows of judge j.
func (r *Result) sum(cells []Cell, judge Judge, j int, tallies [][][]Tally) {
	for i, c := range cells {
		row := summed(tallies, []int{i}, j, c.Scene.Quantity)
		row.Judge, row.Scene, row.Title, row.Leak = judge.Name, c.Scene.Name, c.Scene.Title, c.Leak
		r.Cells = append(r.Cells, row)
	}
	for _, s := range scenesOf(cells) {
		row := summed(tallies, s.cells, j, s.Quantity)
		row.Judge, row.Scene, row.Title, row.Leak = judge.Name, s.Name, s.Title, math.NaN()
		r.Scenes = append(r.Scenes, row)
	}
	row := summed(tallies, everything(cells), j, "decay_rate")
	row.Judge, row.Title, row.Leak = judge.Name, "all scenes", math.NaN()
	r.Overall = append(r.Overall, row)
}

// sceneCells is a scene with the places of its cells.
type sceneCells struct {
	Scene
	cells []int
}

func scenesOf(cells []Cell) []sceneCells {
	var out []sceneCells
	for i, c := range cells {
		at := slices.IndexFunc(out, func(s sceneCells) bool { return s.Name == c.Scene.Name })
		if at < 0 {
			out, at = append(out, sceneCells{Scene: c.Scene}), len(out)
		}
		out[at].cells = append(out[at].cells, i)
	}
	return out
}

func everything(cells []Cell) []int {
	out := make([]int, len(cells))
	for i := range out {
		out[i] = i
	}
	return out
}

// summed joins some cells of every bench for one judge.
func summed(tallies [][][]Tally, cells []int, judge int, quantity string) Row {
	benches := make([]Tally, len(tallies))
	for b := range tallies {
		for _, i := range cells {
			benches[b].add(tallies[b][i][judge])
		}
	}
	return Row{All: figuresOf(benches, quantity), Worst: figuresOf(worstTenth(benches, quantity), quantity)}
}

// worstTenth are the benches whose errors are largest, a tenth of them, at
// least one.
func worstTenth(benches []Tally, quantity string) []Tally {
	wrong := func(y Tally) float64 {
		r := y.rate(quantity)
		if r.Given == 0 {
			return 0
		}
		return r.Squares / float64(r.Given)
	}
	order := slices.Clone(benches)
	slices.SortStableFunc(order, func(a, b Tally) int {
		switch wa, wb := wrong(a), wrong(b); {
		case wa > wb:
			return -1
		case wa < wb:
			return 1
		}
		return 0
	})
	return order[:(len(order)+9)/10]
}

func (y Tally) rate(quantity string) Rate {
	if quantity == "leak_rate" {
		return y.Leak
	}
	return y.Decay
}

func figuresOf(benches []Tally, quantity string) Figures {
	share := func(of, among func(y Tally) float64) Figure { return ratio(benches, of, among) }
	tests := func(y Tally) float64 { return float64(y.Tests) }
	f := Figures{Benches: len(benches)}
	for _, y := range benches {
		f.Tests += y.Tests
	}
	u := share(func(y Tally) float64 { return y.rate(quantity).U }, func(y Tally) float64 { return float64(y.rate(quantity).Given) })
	f.LimitOverU = 1 / u.Value
	f.Decay = rateFigures(benches, func(y Tally) Rate { return y.Decay })
	f.Leak = rateFigures(benches, func(y Tally) Rate { return y.Leak })
	f.FailGood = share(func(y Tally) float64 { return float64(y.FailedGood) }, func(y Tally) float64 { return float64(y.Good) })
	f.PassLeaking = share(func(y Tally) float64 { return float64(y.PassedLeaking) }, func(y Tally) float64 { return float64(y.Tests - y.Good) })
	f.Forbidden = share(func(y Tally) float64 { return float64(y.Forbidden) }, func(y Tally) float64 { return float64(y.Far) })
	f.Inconclusive = share(func(y Tally) float64 { return float64(y.Tests - y.Passed - y.Failed) }, tests)
	f.Invalid = share(func(y Tally) float64 { return float64(y.Invalid) }, tests)
	f.Time = share(func(y Tally) float64 { return y.TimeToDecision }, tests)
	return f
}

func rateFigures(benches []Tally, of func(y Tally) Rate) RateFigures {
	given := func(y Tally) float64 { return float64(of(y).Given) }
	square := ratio(benches, func(y Tally) float64 { return of(y).Squares }, given)
	rms := math.Sqrt(square.Value)
	out := RateFigures{
		Bias:     ratio(benches, func(y Tally) float64 { return of(y).Sum }, given),
		Coverage: ratio(benches, func(y Tally) float64 { return float64(of(y).Covered) }, given),
		RMS:      Figure{Value: rms, Error: square.Error / (2 * rms)},
		Given:    ratio(benches, given, func(y Tally) float64 { return float64(y.Tests) }),
	}
	return out
}

// ratio is Σx/Σn over the benches with its standard error: benches are
// clusters.
//
//	R = Σx/Σn,  u² = m/(m−1) · Σ(x − R·n)² / (Σn)²
//
// Source: [1] eq. 6.13 without the finite population's correction.
func ratio(benches []Tally, of, among func(y Tally) float64) Figure {
	var x, n, square float64
	for _, y := range benches {
		x += of(y)
		n += among(y)
	}
	if n == 0 {
		return Figure{math.NaN(), math.NaN()}
	}
	r, m := x/n, float64(len(benches))
	for _, y := range benches {
		d := of(y) - r*among(y)
		square += d * d
	}
	return Figure{r, math.Sqrt(m/(m-1)*square) / n}
}
