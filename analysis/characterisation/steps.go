package characterisation

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// Step is a known volume put into the trapped side (positive) or taken out.
type Step struct {
	// Volume in m³, as the device says, with its standard uncertainty.
	Volume uncertainty.Estimate
	// At is when it was made, s; NaN where the pressure has to tell.
	At float64
}

// FindSteps returns when the n largest lasting jumps of a pressure were, in
// time order (s); fewer where there are fewer places. A jump is the difference
// of the medians of settle seconds after and before a place, further than that
// from every larger one.
func FindSteps(c series.Column, n int, settle float64) []float64 {
	c = c.Valid()
	type jump struct{ at, size float64 }
	var jumps []jump
	for i := 1; i < c.Len(); i++ {
		at := c.Time[i]
		before := c.Window(at-settle, math.Nextafter(at, math.Inf(-1)))
		after := c.Window(at, at+settle)
		if before.Len() < 3 || after.Len() < 3 {
			continue
		}
		jumps = append(jumps, jump{at, math.Abs(median(after.Value) - median(before.Value))})
	}
	slices.SortStableFunc(jumps, func(a, b jump) int { return cmp.Compare(b.size, a.size) })
	var out []float64
	for _, j := range jumps {
		if len(out) == n {
			break
		}
		if !slices.ContainsFunc(out, func(at float64) bool { return math.Abs(at-j.at) <= 2*settle }) {
			out = append(out, j.at)
		}
	}
	slices.Sort(out)
	return out
}

func median(v []float64) float64 {
	sorted := slices.Clone(v)
	slices.Sort(sorted)
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// placed gives each step its time, those that have none by the pressure. why
// says in words what is wrong; empty where nothing is.
func placed(steps []Step, c series.Column, settle float64) (out []Step, why string) {
	if len(steps) == 0 {
		return nil, "no volume step is declared"
	}
	out = slices.Clone(steps)
	unknown := 0
	for _, s := range out {
		if math.IsNaN(s.At) {
			unknown++
		}
		if s.Volume.Value == 0 || math.IsNaN(s.Volume.Value) {
			return nil, "a volume step of nothing says nothing"
		}
	}
	if unknown > 0 {
		if unknown < len(out) {
			return nil, "the times of some steps are known and those of others not: give all of them, or none"
		}
		found := FindSteps(c, len(out), settle)
		if len(found) < len(out) {
			return nil, fmt.Sprintf("%d steps are declared, and the pressure shows %d", len(out), len(found))
		}
		for i := range out {
			out[i].At = found[i]
		}
	}
	slices.SortStableFunc(out, func(a, b Step) int {
		if a.At < b.At {
			return -1
		}
		if a.At > b.At {
			return 1
		}
		return 0
	})
	return out, ""
}
