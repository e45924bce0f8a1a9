package report

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/report/figure"
	"holdbench/report/result"
)

// fine is how many columns of a figure are told apart: more than any paper
// shows, so that thinning the readings once loses nothing.
const fine = 2000

// curve is a line of a figure, SI over s, thinned to what can be seen.
type curve struct {
	t, y []float64
	// u, where there is one, is the standard uncertainty of y.
	u []float64
}

// thin keeps the extremes of each of many columns; t rises.
func thin(t, y []float64) curve {
	if len(t) == 0 || len(t) != len(y) {
		return curve{}
	}
	t, y = figure.Parted(t, y)
	t, y = figure.Decimate(t, y, t[0], t[len(t)-1], fine)
	return curve{t: t, y: y}
}

func thinned(c series.Column) curve { return thin(c.Time, c.Value) }

// thinSmooth keeps every so-manieth point of a smooth line, with its
// uncertainty.
func thinSmooth(t, y, u []float64) (c curve) {
	if len(t) != len(y) || len(t) != len(u) {
		return curve{}
	}
	step := max(1, len(t)/fine)
	for i := 0; i < len(t); i += step {
		c.t, c.y, c.u = append(c.t, t[i]), append(c.y, y[i]), append(c.u, u[i])
	}
	return c
}

// isLine reports whether there is something to draw.
func (c curve) isLine() bool { return len(c.t) > 1 }

// line is the curve in a figure's units.
func (c curve) line(name string, seconds float64, u si.Unit, style figure.Style) figure.Line {
	l := figure.Line{Name: name, X: over(c.t, seconds), Y: shownAs(c.y, u), Style: style}
	for _, v := range c.u {
		l.Shade = append(l.Shade, 1.96*v/u.Factor)
	}
	return l
}

// over turns seconds into the axis' unit of time.
func over(t []float64, seconds float64) []float64 {
	out := make([]float64, len(t))
	for i, v := range t {
		out[i] = v / seconds
	}
	return out
}

func shownAs(values []float64, u si.Unit) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = u.FromSI(v)
	}
	return out
}

// hold is what the figures of one circuit are drawn from.
type hold struct {
	c          *composer
	circuit    string
	start, end float64
	limits     []limitOf
	// over the hold, and fittedStart at its beginning (NaN without a fit)
	measured, compensated, fitted, liquid curve
	fittedStart                           float64
	segments                              []segment
	// raw says that nothing was compensated.
	raw bool
	// over the figure of the hold
	trapped, feed, temperature curve
	// over the whole recording
	allTrapped, allFeed, allTemperature curve
}

// limitOf is a limit with its test.
type limitOf struct {
	test result.Test
	result.Limit
}

// holds are the holds of the circuits that have curves; they are made once.
func (c *composer) holds() []hold {
	if c.made != nil {
		return c.made
	}
	c.made = []hold{}
	for _, circuit := range c.f.Result.Circuits {
		a, ok := c.f.assessment(circuit.Name)
		if !ok || len(a.Curves.Time) < 2 {
			continue
		}
		c.made = append(c.made, c.hold(a, c.f.recorded(circuit.Name), holdLimits(circuit)))
	}
	return c.made
}

func (c *composer) hold(a analysis.Assessment, rec Recorded, limits []limitOf) hold {
	curves := a.Curves
	h := hold{
		c: c, circuit: a.Circuit, start: a.Start, end: a.End, limits: limits, fittedStart: math.NaN(),
		measured:    thin(curves.Time, curves.Measured),
		compensated: thin(curves.Time, curves.Compensated),
		fitted:      thin(curves.Time, curves.Fitted),
		liquid:      thinSmooth(curves.Time, curves.LiquidTemperature, curves.LiquidTemperatureU),
		allTrapped:  thinned(rec.Trapped), allFeed: thinned(rec.Feed), allTemperature: thinned(rec.Temperature),
	}
	h.raw = uncompensated(curves)
	if len(curves.Fitted) > 1 {
		h.fittedStart = curves.Fitted[0]
	}
	h.segments = segmentsOf(a)
	from, to := h.window()
	h.trapped = thinned(rec.Trapped.Window(from, a.End))
	h.feed, h.temperature = thinned(rec.Feed.Window(from, a.End)), thinned(rec.Temperature.Window(from, to))
	return h
}

// segment is a part of a hold in which nothing was pumped, with the fitted
// pressure at its beginning; s and Pa.
type segment struct{ from, to, level float64 }

// segmentsOf are the parts of a hold, one where it was not interrupted: the
// fitted pressure steps up from one to the next.
func segmentsOf(a analysis.Assessment) (all []segment) {
	t, fitted := a.Curves.Time, a.Curves.Fitted
	if len(fitted) < 2 || len(fitted) != len(t) {
		return nil
	}
	var steps []int
	for i := 1; i < len(fitted); i++ {
		if fitted[i] > fitted[i-1] {
			steps = append(steps, i)
		}
	}
	size := func(i int) float64 { return fitted[i] - fitted[i-1] }
	slices.SortStableFunc(steps, func(i, j int) int { return cmp.Compare(size(j), size(i)) })
	steps = steps[:min(len(steps), max(0, a.Diagnostics.Segments-1))]
	slices.Sort(steps)
	from := segment{from: a.Start, level: fitted[0]}
	for _, i := range steps {
		from.to = t[i-1]
		all, from = append(all, from), segment{from: t[i], level: fitted[i]}
	}
	from.to = a.End
	return append(all, from)
}

// uncompensated reports whether the compensated pressure is the measured one,
// as it is where thermal coefficient or temperature are unknown.
func uncompensated(c decay.Curves) bool { return slices.Equal(c.Compensated, c.Measured) }

func holdLimits(circuit result.Circuit) (limits []limitOf) {
	for _, t := range circuit.Tests {
		for _, l := range t.Limits {
			limits = append(limits, limitOf{t, l})
		}
	}
	return limits
}

// window is the part of the recording that the figure shows, s: the
// stabilising before the hold, as far as it is no longer than the hold, and
// the hold.
func (h hold) window() (from, to float64) {
	length := h.end - h.start
	from = h.start - 0.03*length
	for _, p := range h.c.f.Phases {
		if h.has(p) && p.Name == "stabilise" && p.Start < from {
			from = math.Max(p.Start, h.start-0.15*length)
		}
	}
	return from, h.end + 0.02*length
}

func (h hold) has(p Phase) bool { return p.Circuit == "" || p.Circuit == h.circuit }

// holdFound says how the hold was found where no events tell it.
func (c *composer) holdFound() block {
	var b block
	for _, how := range c.f.holdsFound() {
		b.body = append(b.body, c.aside(how).body...)
	}
	return b
}

// holdsFound are full sentences: the facts' own, else those of the tests.
func (f Facts) holdsFound() (all []string) {
	add := func(how string) {
		if how == "" {
			return
		}
		if !strings.HasPrefix(strings.ToLower(how), "hold") {
			how = "hold: " + how
		}
		if how = fullSentence(how); !slices.Contains(all, how) {
			all = append(all, how)
		}
	}
	if f.HoldFound != "" {
		add(f.HoldFound)
		return all
	}
	for _, circuit := range f.Result.Circuits {
		for _, t := range circuit.Tests {
			if t.Found != nil {
				add(t.Found.How)
			}
		}
	}
	return all
}
