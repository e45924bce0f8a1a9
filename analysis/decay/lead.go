package decay

import (
	"fmt"
	"math"

	"holdbench/analysis/series"
	"holdbench/analysis/uncertainty"
)

// ownTime is the time constant with which the liquid itself follows the body
// of the unit, where the probe follows it more slowly: a characterised lag is
// the difference of the two.
type ownTime struct {
	value float64
	// step is by how much it is moved to see what its doubt does: one standard
	// uncertainty, or half a rectangle's width where bounds are all there is.
	step float64
	// warming: it is the characterised one of the warmth after pressurising.
	warming bool
	// less and more are the liquid at value ∓ step; nil without a doubt.
	less, more *liquid
}

// ownTimeFor returns it; 0 where the probe does not follow the liquid. What
// the warmth of pressurising leaves the liquid with is what the liquid follows
// the body with. Where that is not characterised it is anything from nothing,
// which makes the lag a pure lead, to as much as the lag itself.
func (f *fitting) ownTimeFor(lag float64) ownTime {
	if !(lag < 0) {
		return ownTime{}
	}
	if w := f.in.Known.Warming; w != nil && w.TimeConstant.Value > 0 {
		tau := w.TimeConstant
		return ownTime{value: tau.Value, step: min(tau.StdUncertainty, tau.Value/2), warming: true}
	}
	return ownTime{value: -lag / 2, step: -lag / 2}
}

// withLag is by how much it moves where the lag moves by its own standard
// uncertainty: a characterised lag is the difference of this and the probe's
// time constant, and what is not known of this is not known of both.
func (o ownTime) withLag() float64 {
	if !o.warming {
		return 0
	}
	return o.step
}

// shape is the doubt of the liquid since t0, K, one standard uncertainty of its
// own time constant as far as it is not the lag's; nil where there is none.
func (o ownTime) shape() []float64 {
	if o.less == nil || o.warming {
		return nil
	}
	out := make([]float64, len(o.more.at))
	for i := range out {
		out[i] = (o.more.at[i] - o.more.start - o.less.at[i] + o.less.start) / math.Sqrt(12)
	}
	return out
}

// byOwn is the doubt that the liquid's own time constant leaves in a sum that
// answers as r, K. Where it is characterised it moves with the lag (withLag),
// and what is left is by how much the two, if they knew nothing of each other,
// would leave more.
//
// Source: [1] 5.2.2; a rectangular distribution, 4.3.7.
func (f *fitting) byOwn(r response) float64 {
	switch o := f.follows; {
	case o.less == nil:
		return 0
	case !o.warming:
		return moved([]float64{r.liquid, r.less, r.more}) / math.Sqrt(12)
	}
	own := (r.more - r.less) / 2
	return math.Sqrt(max(-2*own*(r.alongLag()-own), 0))
}

// quickest is the share of the lead under which the liquid's own time constant
// is none: the response is a pure lead.
const quickest = 0.05

// carried is the liquid of a lag with either sign; own counts where the probe
// follows the liquid.
func (s *smooth) carried(lag, own float64, before series.Column, t []float64, start float64) *liquid {
	if lag < 0 {
		return s.leading(-lag, own, before, t, start)
	}
	return s.liquidOf(lag, before, t, start)
}

// localOf takes the local curve wherever it can be laid, for a liquid that
// leads the probe: that counts the curve's slope, and what a polynomial leaves
// of a corner, too small to be seen in the readings, is not small in their
// slope. The local curve says itself how little it knows of it.
func (s *smooth) localOf(c series.Column) {
	if s.local == nil {
		s.tryLocal(c, scatterOfDifferences(c.Value), true)
	}
}

// leading carries the probe's smooth curve to a liquid that follows the body
// with the time constant own, while the probe follows it with own + lead:
//
//	T_f = T_probe + lead·d(T')/dt,  dT'/dt = (T_probe − T')/own
//	    = (1 + lead/own)·T_probe − lead/own·T'
//
// where T' is what follows the probe. Without own it is T_probe +
// lead·dT_probe/dt. Other arguments as for liquidOf; lead, own ≥ 0.
//
// Source: (1 + (own + lead)·s)/(1 + own·s), the quotient of two first-order
// lags (mark L).
func (s *smooth) leading(lead, own float64, before series.Column, t []float64, start float64) *liquid {
	if !(own > quickest*lead) || lead == 0 {
		return s.liquidOf(-lead, before, t, start)
	}
	share := lead / own
	probe, l := s.liquidOf(0, before, t, start), s.liquidOf(own, before, t, start)
	l.start = (1+share)*probe.start - share*l.start
	for i, v := range probe.at {
		l.at[i] = (1+share)*v - share*l.at[i]
	}
	l.startDoubt *= share
	for k, p := range l.parts {
		switch p := p.(type) {
		case *localPart:
			l.parts[k] = leadPart{probe: probe.parts[0].(*localPart), behind: p, lead: lead, own: own}
		case dense:
			if s.local == nil && k == 0 { // what is remembered comes after it
				l.parts[k] = p.led(probe.parts[0].(dense), share)
			} else {
				l.parts[k] = scaledPart{p, share}
			}
		}
	}
	return l
}

// led is (1 + share) times a probe's part less share times this one, of the
// same parameters.
func (d dense) led(probe dense, share float64) dense {
	led := func(v, behind float64) float64 { return (1+share)*v - share*behind }
	for k, shape := range d.shapes {
		d.startShape[k] = led(probe.startShape[k], d.startShape[k])
		for i, v := range probe.shapes[k] {
			shape[i] = led(v, shape[i])
		}
	}
	return d
}

// leadPart has a spline's parameters as a liquid that leads the probe is made
// of them: of the probe and of what follows it.
type leadPart struct {
	probe, behind *localPart
	lead, own     float64
}

func (p leadPart) by(g []float64, sum float64) []float64 {
	share := p.lead / p.own
	out, behind := p.probe.by(g, sum), p.behind.by(g, sum)
	for k, v := range behind {
		out[k] = (1+share)*out[k] - share*v
	}
	return out
}

// squareAt is not less than the variance: at every frequency ω the response is
// at most 1 + lead/own and at most |1 + iω·√(lead² + 2·lead·own)|.
func (p leadPart) squareAt(i int) float64 {
	quick, t := 1+p.lead/p.own, p.probe.t[i]
	square := func(lead float64) float64 { return p.probe.scale * p.probe.scale * p.probe.curve.square(t, lead) }
	return min(quick*quick*square(0), square(math.Sqrt(p.lead*(p.lead+2*p.own))))
}

// ownLine is the budget's line of the liquid's own time constant.
func (f *fitting) ownLine(r response) uncertainty.Budget {
	o := f.follows
	if o.less == nil {
		return nil
	}
	note := fmt.Sprintf("the liquid itself follows with 0 to %.3g s, not characterised", 2*o.value)
	if o.warming {
		note = fmt.Sprintf("the liquid itself follows with %.3g ± %.2g s, beside the lag", o.value, o.step)
	}
	return uncertainty.Budget{{
		Source: SourceLiquidResponse, DegreesOfFreedom: math.Inf(1), Note: note,
		StdUncertainty: f.sensitivity() * f.byOwn(r),
	}}
}
