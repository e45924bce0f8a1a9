package verdict

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Boundaries returns, for looks at a growing estimate, the standardised
// distances c from the limit at which the risk is used up as spent says: for a
// unit exactly at the limit
//
//	P(Z_1 < c_1, …, Z_{k−1} < c_{k−1}, Z_k ≥ c_k) = spent_k − spent_{k−1}
//
// where Z_j and Z_k, j < k, are standard normal with the correlation
// √(information_j/information_k). spent is what may be used up at each look
// together with those before it (non-decreasing, 0 ≤ spent < 1); information
// is above 0 and in any unit. A look that adds nothing to what is spent has
// the boundary +Inf. What grows by less than leastGrowth is taken to have
// grown by that, which overstates the risk. The result has the length of
// spent; all NaN where an argument is none of these.
//
// Greater correlations than these make the risk smaller: Slepian, D., Bell
// Syst. Tech. J. 41 (1962) 463 (mark M).
//
// Source: Armitage, P., McPherson, C. K. and Rowe, B. C., J. R. Stat. Soc. A
// 132 (1969) 235, the recursion; Lan and DeMets, Biometrika 70 (1983) 659,
// what is spent (mark M).
func Boundaries(spent, information []float64) []float64 {
	out := make([]float64, len(spent))
	if !increasing(spent, information) {
		for k := range out {
			out[k] = math.NaN()
		}
		return out
	}
	var r Recursion
	for k := range spent {
		out[k] = r.Next(spent[k], information[k])
	}
	return out
}

// Recursion is the recursion of Boundaries, look by look: it keeps where the
// looks before left the statistic, so that one more look costs one step. The
// zero value is before the first look.
type Recursion struct {
	left               *walk
	spent, information float64
	boundary           float64
}

// Next returns the boundary of the next look, to the last digit that of
// Boundaries for all looks so far. It is NaN from the first look on whose
// arguments are not as Boundaries asks for.
func (r *Recursion) Next(spent, information float64) float64 {
	if !(spent >= r.spent && spent < 1) || !(information > 0) || math.IsInf(information, 1) {
		r.spent, r.boundary = math.NaN(), math.NaN()
		return r.boundary
	}
	if r.left == nil {
		r.left = start()
	} else {
		r.left.cut(math.Inf(-1), r.boundary)
		r.left.grow(r.information / information)
	}
	r.boundary = r.left.boundary(spent - r.spent)
	r.spent, r.information = spent, information
	return r.boundary
}

func increasing(spent, information []float64) bool {
	if len(spent) != len(information) {
		return false
	}
	last := 0.0
	for k, s := range spent {
		if !(s >= last && s < 1) || !(information[k] > 0) || math.IsInf(information[k], 1) {
			return false
		}
		last = s
	}
	return true
}

const (
	// leastGrowth is the growth of information from one look to the next that
	// is reckoned with at least.
	leastGrowth = 1.02
	// leastSpent is the chance below which a boundary lies at infinity.
	leastSpent = 1e-13
	// reach is where the normal distribution ends for the recursion.
	reach = 7.0
	// widest is the grid's step at most, in units of a look's standard deviation.
	widest = 0.08
	// farthest is where the normal density is no longer worth its exponential.
	farthest = 9
)

// walk is the distribution of the standardised statistic at a look, as far as
// no boundary was crossed: density times Simpson weight at the points.
type walk struct {
	at, weight []float64
	// share and rest: at the next look the statistic is share·Z + rest·ε.
	share, rest float64
}

// start is the distribution before the first look: all of it at one point.
func start() *walk { return &walk{at: []float64{0}, weight: []float64{1}, share: 0, rest: 1} }

// grow prepares the step to the next look: ratio is the information before
// over that after it.
func (w *walk) grow(ratio float64) {
	ratio = min(ratio, 1/leastGrowth)
	w.share, w.rest = math.Sqrt(ratio), math.Sqrt(1-ratio)
}

// above is the chance that the next statistic is at least c, and its density
// there.
func (w *walk) above(c float64) (chance, density float64) {
	for i, z := range w.at {
		d := (c - w.share*z) / w.rest
		if d < -farthest {
			chance += 2 * w.weight[i]
			continue
		}
		chance += w.weight[i] * math.Erfc(d/math.Sqrt2)
		density += w.weight[i] * math.Exp(-d*d/2)
	}
	return chance / 2, density / (w.rest * math.Sqrt(2*math.Pi))
}

// boundary is where the next statistic lies above with that chance.
func (w *walk) boundary(chance float64) float64 {
	switch {
	case chance < leastSpent:
		return math.Inf(1)
	case w.share == 0:
		return -mathext.NormalQuantile(chance)
	}
	low, high := -reach, reach+1
	c := w.share * w.middle()
	for range 60 {
		p, density := w.above(c)
		if p > chance {
			low = c
		} else {
			high = c
		}
		next := c + (p-chance)/density // Newton
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		if math.Abs(next-c) < 1e-11 {
			break
		}
		c = next
	}
	return c
}

// middle is the mean of what is left.
func (w *walk) middle() float64 {
	var sum, all float64
	for i, z := range w.at {
		sum += w.weight[i] * z
		all += w.weight[i]
	}
	return sum / all
}

// cut takes the step: the statistic at the next look between low and high.
func (w *walk) cut(low, high float64) {
	low, high = max(low, -reach), min(high, reach)
	n := 2 * max(1, int(math.Ceil((high-low)/(2*widest))))
	step := (high - low) / float64(n)
	at, weight := make([]float64, n+1), make([]float64, n+1)
	scale := step / 3 / (w.rest * math.Sqrt(2*math.Pi))
	for i := range at {
		x := low + step*float64(i)
		at[i] = x
		var sum float64
		for j, z := range w.at {
			if d := (x - w.share*z) / w.rest; math.Abs(d) < farthest {
				sum += w.weight[j] * math.Exp(-d*d/2)
			}
		}
		weight[i] = sum * scale * simpson(i, n)
	}
	w.at, w.weight = at, weight
}

// simpson is the weight of point i of n + 1, n even, times 3.
func simpson(i, n int) float64 {
	switch {
	case i == 0 || i == n:
		return 1
	case i%2 == 1:
		return 4
	}
	return 2
}
