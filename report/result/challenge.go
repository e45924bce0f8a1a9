package result

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis"
	"holdbench/analysis/challenge"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
	"holdbench/daq/record"
)

// ReasonChallenge stands first among the reasons of a challenge: such a run
// judges the bench, never the unit.
const ReasonChallenge = "a known leak was imposed: this run judges the bench; the unit is not judged"

// Challenge says what became of a known-leak challenge. Figures in Unit.
type Challenge struct {
	Code     string `json:"code"`
	Circuit  string `json:"circuit"`
	Quantity string `json:"quantity"`
	Unit     string `json:"unit"`
	// Limit of the quantity; null where the procedure has none. Allowed is by
	// how much measured and expected may differ.
	Limit   *float64 `json:"limit"`
	Allowed *float64 `json:"allowed"`
	// Known is the imposed leak, Own the unit's without it, Expected both.
	Known      ChallengeFigure `json:"known"`
	Own        ChallengeFigure `json:"own"`
	Expected   ChallengeFigure `json:"expected"`
	Measured   ChallengeFigure `json:"measured"`
	Difference ChallengeFigure `json:"difference"`
	// Outcome is "passed", "failed" or "cannot tell", with the reasons.
	Outcome string   `json:"outcome"`
	Reasons []string `json:"reasons"`
	// Sharp is false where the difference is known too badly for the outcome
	// to say much.
	Sharp bool `json:"sharp"`
	// Readings is the verdict that the limit alone would have given on what was
	// measured: for counts of false alarms and detections.
	Readings string `json:"readings"`
}

// ChallengeFigure is a leak with its standard uncertainty; null where unknown.
type ChallengeFigure struct {
	Value   *float64 `json:"value"`
	U       *float64 `json:"u"`
	Written string   `json:"written,omitempty"`
	Source  string   `json:"source,omitempty"`
}

// challengeQuantities are the quantities that a known leak can be held
// against, those that count settling first.
var challengeQuantities = []string{"decay_rate", "leak_rate", "leak_rate_at_test_pressure", "leak_flow"}

// ChallengeLimit is the limit that a challenge is measured by: the first of
// the procedure's max limits on a rate or a flow.
func ChallengeLimit(limits []verdict.Limit) (verdict.Limit, bool) {
	for _, name := range challengeQuantities {
		if i := slices.IndexFunc(limits, func(l verdict.Limit) bool { return l.Quantity == name && l.Bound == verdict.Max }); i >= 0 {
			return limits[i], true
		}
	}
	return verdict.Limit{}, false
}

// challenged judges the bench by a run with a known leak, and takes the unit's
// verdict away from the assessments; nil where there was none.
func (r *Run) challenged(holds []analysis.Hold, assessments []analysis.Assessment) *Challenge {
	c := r.Recording.Meta.Challenge
	if c == nil {
		return nil
	}
	out := &Challenge{Code: c.Code, Circuit: c.Circuit, Outcome: challenge.Unknown.String(), Reasons: []string{}, Readings: verdict.Inconclusive.String(),
		Known: written(c.Known), Own: written(c.Own)}
	i := slices.IndexFunc(holds, func(h analysis.Hold) bool { return h.Circuit == c.Circuit })
	if i < 0 {
		out.Reasons = append(out.Reasons, "circuit "+c.Circuit+" was not tested")
	} else {
		out.compare(*c, holds[i], assessments[i])
	}
	for k := range assessments {
		withhold(&assessments[k])
	}
	return out
}

func written(l record.Leak) ChallengeFigure {
	return ChallengeFigure{Written: l.Written, Source: l.Source}
}

// compare holds the measured leak against own and imposed one.
func (out *Challenge) compare(c record.Challenge, h analysis.Hold, a analysis.Assessment) {
	limit, ok := ChallengeLimit(h.Limits)
	if !ok {
		out.Reasons = append(out.Reasons, "the procedure limits no rate and no flow: a known leak cannot be held against anything")
		return
	}
	row, _ := verdict.Lookup(limit.Quantity)
	out.Quantity, out.Unit = limit.Quantity, row.Quantity.SI().Symbol
	for k, d := range a.Decisions {
		if d.Limit == h.Limits[k] && d.Limit.Quantity == limit.Quantity && d.Limit.Bound == limit.Bound {
			out.Readings = d.Verdict.String()
		}
	}
	known, why := asQuantity(c.Known, row.Quantity, h.Characterised.Stiffness)
	own, whyOwn := asQuantity(c.Own, row.Quantity, h.Characterised.Stiffness)
	for _, text := range []string{why, whyOwn} {
		if text != "" && !slices.Contains(out.Reasons, text) {
			out.Reasons = append(out.Reasons, text)
		}
	}
	measured := a.Estimates[limit.Quantity]
	comparison := challenge.Comparison{Measured: measured.Estimate, Own: own, Imposed: known, Limit: limit.Value}
	switch {
	case measured.Absent != "":
		out.Reasons = append(out.Reasons, limit.Quantity+" was not measured: "+measured.Absent)
		comparison.Measured.Value = math.NaN()
	case !a.Valid || !a.Completed:
		out.Reasons = append(out.Reasons, a.Reasons...)
		out.Reasons = append(out.Reasons, "the hold may not be judged, and the challenge with it")
	}
	outcome := comparison.Outcome()
	if len(out.Reasons) > 0 {
		outcome = challenge.Unknown
	}
	out.Outcome, out.Sharp = outcome.String(), comparison.Sharp()
	out.Limit, out.Allowed = number(limit.Value), number(comparison.Allowed())
	out.Known.fill(known)
	out.Own.fill(own)
	out.Expected.fill(comparison.Expected())
	out.Measured.fill(comparison.Measured)
	out.Difference.fill(comparison.Difference())
	if outcome == challenge.Passed && !out.Sharp {
		out.Reasons = append(out.Reasons, "the difference is known to no better than what is allowed: agreement may be chance")
	}
}

func (f *ChallengeFigure) fill(e uncertainty.Estimate) {
	f.Value, f.U = number(e.Value), number(e.StdUncertainty)
}

// asQuantity is a leak as a rate or a flow, through the stiffness where it was
// given as the other.
//
// Source: JCGM 100:2008, 5.1.2, for a product and a quotient.
func asQuantity(l record.Leak, q si.Quantity, stiffness *uncertainty.Estimate) (uncertainty.Estimate, string) {
	e := uncertainty.Estimate{Value: l.Value, StdUncertainty: l.U, DegreesOfFreedom: math.Inf(1), Quantity: q}
	if l.Quantity == q || l.Value == 0 && l.U == 0 {
		return e, ""
	}
	if stiffness == nil {
		e.Value = math.NaN()
		return e, "a leak given as a " + l.Quantity.String() + " becomes a " + q.String() + " by the stiffness, which is not characterised"
	}
	k, relative := stiffness.Value, stiffness.StdUncertainty/stiffness.Value
	if q == si.VolumeFlow {
		k = 1 / k
	}
	e.Value = l.Value * k
	e.StdUncertainty = math.Hypot(l.U*k, e.Value*relative)
	return e, ""
}

// withhold takes a verdict of the unit away.
func withhold(a *analysis.Assessment) {
	a.Verdict = verdict.Inconclusive
	reasons := []string{ReasonChallenge}
	for _, reason := range a.Reasons {
		if !slices.ContainsFunc(a.Decisions, func(d verdict.Decision) bool { return d.Reason == reason }) {
			reasons = append(reasons, reason)
		}
	}
	a.Reasons = reasons
	a.Advice = nil
	decisions := slices.Clone(a.Decisions)
	for k := range decisions {
		decisions[k].Verdict, decisions[k].Reason = verdict.Inconclusive, ReasonChallenge
	}
	a.Decisions = decisions
}

// takeChallenge puts the challenge into the result and its outcome before all
// other reasons.
func (r *Result) takeChallenge(c *Challenge) {
	if c == nil {
		return
	}
	r.Challenge = c
	first := fmt.Sprintf("known-leak challenge %s of bench %s: %s", c.Code, r.Bench.Name, c.Outcome)
	r.Reasons = append([]string{first}, r.Reasons...)
}
