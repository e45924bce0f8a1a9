package analysis

import (
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// course is how the information on one quantity grew over the looks that were
// judged and knew it. It is fed look by look.
type course struct {
	// looks are what each of them knew.
	looks []known
	// fraction is the share of the longest hold's information at each look,
	// not decreasing, 1 at the last planned look: what is spent by it.
	fraction []float64
	// information is that by which the estimates of two looks hang together:
	// their correlation is at least √(information_j/information_k), j < k.
	information []float64
	// walks keep, for each risk, how far its boundaries are.
	walks map[float64]*spender
}

// spender is how many looks a risk's boundaries were set for, and the last.
type spender struct {
	verdict.Recursion
	looks int
	last  float64
}

// quickest is the power of time by which information grows most quickly: that
// on a slope through white noise.
//
// Source: var(slope) = 12σ²/(Δt²·n(n²−1)) (mark C).
const quickest = 3.0

// beforeLast is the most of a risk's information that is reckoned as gathered
// before the last planned look.
const beforeLast = 0.999

// take adds what a look knew of the quantity. A look at which it was absent
// counts for nothing. last: it is the last planned look.
//
// The noise part of the uncertainty gives the information, 1/u². What the
// longest hold will gather is planned at the first of these looks, as if the
// noise were white: then the information grows with the cube of time. Where it
// did not grow so, its share is taken to be at least that cube, because the
// noise as it is now cannot let it grow more quickly, and at most the share of
// time, as in a random walk. The last look spends what is left, whatever was
// gathered. All of it depends on the scatter alone and not on the estimate, so
// that the risk holds (the rule of maximum information: Lan, K. K. G. and
// Zucker, D. M., Stat. Med. 12 (1993) 753, mark M).
//
// The other lines of the budget are the same error at every look, or nearly
// so. They are added to it undiminished: the boundary, that of the noise
// alone, multiplies the whole uncertainty. That keeps the risk as long as the
// estimates of two looks hang together at least as the noise does (Slepian's
// inequality, see verdict.Boundaries), which common errors only strengthen.
// Where errors grow later they do not: then the correlation that the two
// budgets leave is taken instead.
func (c *course) take(share float64, q Quantity, last bool) {
	if q.Reciprocal != nil {
		q = *q.Reciprocal
	}
	if q.Absent != "" || !(q.StdUncertainty >= 0) {
		return
	}
	c.looks = append(c.looks, newKnown(share, q))
	c.add(c.looks, len(c.looks)-1)
	if last {
		c.fraction[len(c.fraction)-1] = 1
	}
}

// gathered is the share of the information at the newest look; NaN before any.
func (c *course) gathered() float64 {
	if len(c.fraction) == 0 {
		return math.NaN()
	}
	return c.fraction[len(c.fraction)-1]
}

// known is what a look knew of a quantity: its time as a share of the longest
// hold's, the noise part of its standard uncertainty, all of it, and the lines
// of the rest.
type known struct {
	share, noise, u float64
	rest            uncertainty.Budget
}

// ofNoise are the lines of a budget that readings scatter into, so that more
// of them make it smaller.
func ofNoise(source string) bool {
	return source == decay.SourceNoise || source == decay.SourceTemperatureReading
}

// parted are the lines of noise, and all others.
func parted(b uncertainty.Budget) (noise, rest uncertainty.Budget) {
	for _, line := range b {
		if ofNoise(line.Source) {
			noise = append(noise, line)
		} else {
			rest = append(rest, line)
		}
	}
	return noise, rest
}

func newKnown(share float64, q Quantity) known {
	k := known{share: share}
	noise, rest := parted(q.Budget)
	k.noise, _ = noise.Combined()
	if !(k.noise > 0) {
		// No scatter at all: as if there were a little, white.
		k.noise = 1e-9 * math.Max(q.StdUncertainty, 1e-300) * math.Pow(share, -quickest/2)
	}
	r, _ := rest.Combined()
	k.rest, k.u = rest, math.Hypot(k.noise, r)
	return k
}

func (c *course) add(looks []known, k int) {
	this, first := looks[k], looks[0]
	before := 0.0
	if k > 0 {
		before = c.fraction[k-1]
	}
	gathered := math.Pow(first.noise/this.noise, 2) * math.Pow(first.share, quickest)
	gathered = math.Max(math.Pow(this.share, quickest), math.Min(gathered, this.share))
	c.fraction = append(c.fraction, math.Max(before, math.Min(gathered, beforeLast)))
	if k == 0 {
		c.information = append(c.information, 1)
		return
	}
	least := this.noise / looks[k-1].noise
	for j := range k {
		// what the walk loses from look j to the one before this
		path := math.Sqrt(c.information[j] / c.information[k-1])
		least = math.Min(least, together(looks[j], this)/path)
	}
	least = math.Max(math.Min(least, 1), 0.01)
	c.information = append(c.information, c.information[k-1]/(least*least))
}

// together is the correlation of the estimates of two looks, j before k, when
// each line of the rest is the same error at both.
func together(j, k known) float64 {
	common := math.Min(j.noise, k.noise) * k.noise
	for _, a := range j.rest {
		for _, b := range k.rest {
			if a.Source == b.Source {
				common += a.StdUncertainty * b.StdUncertainty
			}
		}
	}
	return common / (j.u * k.u)
}

// boundary is that of the newest look for a risk; NaN before any.
func (c *course) boundary(s verdict.Spending, risk float64) float64 {
	if c.walks == nil {
		c.walks = map[float64]*spender{}
	}
	w := c.walks[risk]
	if w == nil {
		w = &spender{last: math.NaN()}
		c.walks[risk] = w
	}
	for ; w.looks < len(c.fraction); w.looks++ {
		w.last = w.Next(s.Spent(risk, c.fraction[w.looks]), c.information[w.looks])
	}
	return w.last
}
