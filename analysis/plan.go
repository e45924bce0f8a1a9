package analysis

import (
	"math"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
)

// Planned is what a plan says of one limit before a test.
type Planned struct {
	Outlook
	// Looks at the growing hold; nil without, and where this limit is decided
	// at the hold's own end alone.
	Looks *Looks
	// Units are what becomes of units with a loss of PlanMultiples of what the
	// limit allows, with the looks where the limit is decided by them; Curve
	// likewise, for a figure.
	Units []Stop
	Curve []Share
	// Steady and Changing are the hold times needed where the temperature
	// changes by no more than in this hold, and where it changes on as
	// quickly.
	Steady, Changing HoldTime
}

// PlanMultiples are the losses, in multiples of what the limit allows, that a
// plan lists.
var PlanMultiples = []float64{0, 0.25, 0.5, 0.9, 1, 1.1, 1.5, 2}

const (
	// planTests is how many tests are played for each of them.
	planTests = 4000
	// curveTo and curvePoints lay out the curve.
	curveTo, curvePoints = 2.2, 111
	// curveTests is how many tests are played for each point of a curve with
	// looks.
	curveTests = 1000
)

// Plan says what the hold can be expected to say of a limit; ok as for
// Outlook. looks may be nil. The same seed gives the same plan.
func (p Prospect) Plan(l verdict.Limit, looks *Looks, seed uint64) (out Planned, ok bool) {
	o, ok := p.Outlook(l)
	if !ok {
		return out, false
	}
	if looks != nil && !o.byLooks(*looks) {
		looks = nil
	}
	out = Planned{Outlook: o, Looks: looks, Steady: o.HoldTime(true), Changing: o.HoldTime(false)}
	for i, m := range PlanMultiples {
		stop := Stop{Share: o.Share(m), Mean: p.Duration}
		if looks != nil {
			stop = o.Stops(*looks, m, seed+uint64(i), planTests)
		}
		out.Units = append(out.Units, stop)
	}
	for i := range curvePoints {
		m := curveTo * float64(i) / (curvePoints - 1)
		if looks == nil {
			out.Curve = append(out.Curve, o.Share(m))
			continue
		}
		// The same tests for each point: the curve has no jags.
		out.Curve = append(out.Curve, o.Stops(*looks, m, seed, curveTests).Share)
	}
	return out, true
}

// Loss is the true loss of units whose loss is that many times what the limit
// allows, as plans show it: what the limit names, but for a pressure its fall
// from the test pressure, and for a time constant 1/τ in 1/s (Dimensionless).
func (o Outlook) Loss(multiple float64) (float64, si.Quantity) {
	q := o.Limit.Row().Quantity
	switch q {
	case si.Pressure:
		q = si.PressureChange
	case si.Time:
		q = si.Dimensionless
	}
	return multiple * o.prospect.room(o.Limit), q
}

// Among is what becomes, at the end of the hold, of the units of a prior,
// which is of the loss as Loss counts it.
func (o Outlook) Among(prior verdict.Prior) verdict.GlobalRisk {
	room := o.prospect.room(o.Limit)
	conform := verdict.Tolerance{Low: math.Inf(-1), High: room}
	if o.Absent == "" && o.side() < 0 {
		conform = verdict.Tolerance{Low: room, High: math.Inf(1)}
	}
	return verdict.Global(prior, conform, func(loss float64) (pass, fail float64) {
		s := o.Share(loss / room)
		return s.Pass, s.Fail
	})
}
