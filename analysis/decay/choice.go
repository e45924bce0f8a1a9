package decay

import (
	"fmt"
	"math"
	"strings"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
)

// tellsApart is by how much the criterion must fall for a law to be taken
// instead of the first of the table.
//
// Source: Burnham and Anderson [6], 2.6: models within about 2 have
// substantial support (mark M).
const tellsApart = 2

// lawParameters is the number of a line's parameters and that of the noise.
const lawParameters = 3

// choice is which law was taken, and how much each counts.
type choice struct {
	// laid has the laws in the order of the table, nil where one cannot be
	// laid, and aicc their criterion, NaN where it says nothing.
	laid []*law
	aicc []float64
	// weight is by how much a law counts in what they say together; they sum
	// to 1.
	weight []float64
	// taken is the law's place in the table.
	taken  int
	reason string
}

// law is the one that was taken.
func (c choice) law() *law { return c.laid[c.taken] }

// named returns the law of that name and its criterion; nil and NaN where it
// was not laid.
func (c choice) named(name string) (*law, float64) {
	for i, m := range models {
		if m.name == name {
			return c.laid[i], c.aicc[i]
		}
	}
	return nil, math.NaN()
}

// choose lays every law that is not searched for through readings and takes the
// one with the smallest AICc; where that is not smaller by tellsApart than that
// of the first, the first. The criterion counts independent readings: as many as the residuals
// of the law that follows them best say. The error is that of the first law.
//
// Source: AICc, Hurvich and Tsai [5], Burnham and Anderson [6].
func choose(t, p []float64, x frame, sink string, duration float64) (choice, error) {
	c := choice{laid: make([]*law, len(models)), aicc: make([]float64, len(models))}
	why := make([]error, len(models))
	best := 0
	for i, m := range models {
		if m.searched > 0 {
			continue
		}
		c.laid[i], why[i] = m.lay(t, p, x)
		if c.laid[i] != nil && (c.laid[best] == nil || c.laid[i].rss < c.laid[best].rss) {
			best = i
		}
	}
	if why[0] != nil {
		return c, why[0]
	}
	independent := c.laid[best].effective
	for i, l := range c.laid {
		c.aicc[i] = math.NaN()
		if l != nil {
			c.aicc[i] = fit.AICc(l.rss*independent/float64(len(t)), int(independent), l.size+1)
		}
		if models[i].counts() && c.aicc[0]-c.aicc[i] >= tellsApart && !(c.aicc[i] > c.aicc[c.taken]) {
			c.taken = i
		}
	}
	c.weigh(1)
	c.reason = c.words(why, x, sink, duration)
	return c, nil
}

// weigh gives each law its Akaike weight exp(−Δ/2). Only the share of the
// differences counts that noise alone decides: what temperature or settling
// may be wrong by can pretend the rest. Where the criterion says nothing, the
// laws of as few parameters as the first count alike.
//
// Source: Burnham and Anderson [6], 2.9 (mark M); the share is the house's own.
func (c *choice) weigh(share float64) {
	least := math.Inf(1)
	for i, a := range c.aicc {
		if models[i].counts() && a < least {
			least = a
		}
	}
	c.weight = make([]float64, len(models))
	var sum float64
	for i, m := range models {
		switch {
		case !m.counts() || c.laid[i] == nil:
		case c.aicc[i] == least:
			c.weight[i] = 1
		case math.IsNaN(c.aicc[0]) && m.size == models[0].size:
			c.weight[i] = 1
		case c.aicc[i] > least:
			c.weight[i] = math.Exp(-share * (c.aicc[i] - least) / 2)
		}
		if c.weight[i] < leastWeight {
			c.weight[i] = 0
		}
		sum += c.weight[i]
	}
	for i := range c.weight {
		c.weight[i] /= sum
	}
}

// leastWeight, of the best law's, is below which a law does not count.
const leastWeight = 1e-3

// noiseShare is the share of what one parameter more may gain by chance that
// noise makes, and not what temperature and settling may be wrong by.
func (f *fitting) noiseShare() float64 {
	l := f.choice.laid[0]
	noise := square(f.choice.law().std*f.choice.law().inflation) / float64(len(f.t))
	if f.liquid == nil || noise == 0 {
		return 1
	}
	return noise / (noise + f.pretence(l))
}

// words say which law was taken and why.
func (c choice) words(why []error, x frame, sink string, duration float64) string {
	towards := fmt.Sprintf("towards %s (%s)", shown(x.sink, si.Pressure), sink)
	if c.taken > 0 {
		return fmt.Sprintf("%s %s: its AICc is smaller by %.1f than that of a %s",
			c.law().title, towards, c.aicc[0]-c.aicc[c.taken], models[0].title)
	}
	text, alike, loss := models[0].title, []string(nil), 0.0
	for i, m := range models[1:] {
		if !m.counts() {
			continue
		}
		l, apart := c.laid[i+1], c.aicc[i+1]-c.aicc[0]
		switch {
		case l == nil:
			text += fmt.Sprintf("; no %s %s: %v", m.title, towards, why[i+1])
		case apart >= tellsApart:
			text += fmt.Sprintf("; the AICc of an %s %s is larger by %.1f", m.title, towards, apart)
		default:
			name := "an " + m.title
			if !math.IsNaN(apart) {
				name += fmt.Sprintf(" (AICc %.1f apart)", math.Abs(apart))
			}
			alike, loss = append(alike, name), max(loss, l.lostShare(duration))
		}
	}
	if len(alike) > 0 {
		text += fmt.Sprintf("; over a loss of %.2g %% it cannot be told from %s %s", 100*loss, strings.Join(alike, " or "), towards)
	}
	return text
}

// lostShare is what a law loses over a time from t0, over its height above
// the sink at t0.
func (l *law) lostShare(duration float64) float64 {
	return l.lost(l.c, l.frame, duration).value / (l.at(l.c, l.frame, 0).value - l.sink)
}

// against reports whether the readings speak clearly against the exponential:
// by their scatter, and by more than what temperature and settling may be
// wrong by can pretend.
func (f *fitting) against() bool {
	_, aicc := f.choice.named(Exponential)
	return f.straighter && f.choice.aicc[f.choice.taken] <= aicc-tellsApart
}
