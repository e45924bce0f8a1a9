package analysis

import (
	"math"
	"math/rand/v2"
	"slices"

	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// Stop is what looks at a growing hold do to units with the same true loss.
type Stop struct {
	// Share as by Outlook.Share, but with the looks.
	Share
	// Mean is the mean length of the hold, s; Early the share of units that
	// are decided before the hold's own end, Extended that of those that go on
	// past it.
	Mean, Early, Extended float64
}

// expectedLook is what one planned look can be expected to know.
type expectedLook struct {
	time float64
	// toPass and toFail are how far the estimate must lie on that side of the
	// limit; +Inf where nothing may be decided.
	toPass, toFail float64
	// noise is the part of the uncertainty that readings scatter into, kept
	// the share of the last look's that is still in it; common are the other
	// lines, the same error at every look.
	noise, kept float64
	common      uncertainty.Budget
	// After an undecided look at the hold's own end or later the hold goes on
	// only where time can settle it: where an estimate that lies off the limit
	// by as much as it still may move, move, more than by least.
	asked       bool
	move, least float64
}

// Stops plays that many tests with the looks, on benches whose errors are
// spread as the budget states, for units whose loss is that many times what
// the limit allows. The same seed gives the same answer. A limit that is not
// decided by looks, or has no estimate, is left to the hold's own end.
func (o Outlook) Stops(plan Looks, multiple float64, seed uint64, trials int) Stop {
	if !o.byLooks(plan) {
		return Stop{Share: o.Share(multiple), Mean: o.prospect.Duration}
	}
	looks := o.expectedLooks(plan, multiple)
	room := o.prospect.room(o.Limit)
	excess := o.side() * (multiple - 1) * room
	random := rand.New(rand.NewPCG(seed, 106))
	out := Stop{Share: Share{Multiple: multiple, Truth: o.at(multiple).Value}}
	one := 1 / float64(trials)
	for range trials {
		v, at := play(looks, excess, random)
		switch v {
		case verdict.Pass:
			out.Pass += one
		case verdict.Fail:
			out.Fail += one
		}
		out.Mean += one * at
		if at > plan.Hold {
			out.Extended += one
		} else if at < plan.Hold {
			out.Early += one
		}
	}
	out.Inconclusive = max(0, 1-out.Pass-out.Fail)
	return out
}

// byLooks: the limit is decided by these looks.
func (o Outlook) byLooks(plan Looks) bool {
	return o.Absent == "" && DecidedByLooks(o.Limit.Quantity) && o.Limit.Rule != verdict.Simple && len(plan.Plan) > 0
}

// side is 1 where a greater loss breaks the limit, else −1.
func (o Outlook) side() float64 {
	switch {
	case o.Limit.Quantity == quantityTimeConstant:
		if o.Limit.Bound == verdict.Min {
			return 1
		}
		return -1
	case o.Limit.Exceeded(o.at(2).Value) > 0:
		return 1
	}
	return -1
}

// expectedLooks sets the boundaries of the planned looks from what each can be
// expected to know, as the looks of a hold do.
func (o Outlook) expectedLooks(plan Looks, multiple float64) []expectedLook {
	var c course
	loss := multiple * o.prospect.room(o.Limit)
	pass, fail := o.Limit.Risks()
	var out []expectedLook
	for k, t := range plan.Plan {
		budget := o.prospect.until(t).expect().budget(o.Limit, loss)
		u, dof := budget.Combined()
		q := Quantity{Estimate: uncertainty.Estimate{StdUncertainty: u, DegreesOfFreedom: dof}, Budget: budget}
		c.take(t/plan.Longest(), q, k == len(plan.Plan)-1)
		far := func(risk float64) float64 {
			if level := verdict.Level(c.boundary(plan.Spending, risk)); level > 0 {
				return uncertainty.T(1-level, dof) * u
			}
			return math.Inf(1)
		}
		noise, common := parted(budget)
		look := expectedLook{time: t, toPass: far(pass), toFail: far(fail), common: common}
		look.noise, _ = noise.Combined()
		if look.asked = t >= plan.Hold; look.asked {
			l := &looking{Looks: plan, at: TakenLook{Number: k + 1, At: t}}
			now, then, rest := l.grown(q)
			look.move = uncertainty.T(1-mayMove, math.Inf(1)) * math.Sqrt(max(0, now*now-then*then))
			look.least = uncertainty.T(1-max(pass, fail), math.Inf(1)) * rest
		}
		if k > 0 && out[k-1].noise > 0 {
			// Information 1/u² grows by independent parts.
			look.kept = min(look.noise/out[k-1].noise, 1)
		}
		out = append(out, look)
	}
	return out
}

// play is one test: the verdict and the time at which the hold ended, s.
func play(looks []expectedLook, excess float64, random *rand.Rand) (verdict.Verdict, float64) {
	errors, names := make([]float64, 0, 16), make([]string, 0, 16)
	of := func(source string) float64 {
		if i := slices.Index(names, source); i >= 0 {
			return errors[i]
		}
		names, errors = append(names, source), append(errors, random.NormFloat64())
		return errors[len(errors)-1]
	}
	var walk float64
	for _, k := range looks {
		walk = k.kept*walk + math.Sqrt(1-k.kept*k.kept)*random.NormFloat64()
		seen := excess + k.noise*walk
		for _, line := range k.common {
			seen += line.StdUncertainty * of(line.Source)
		}
		switch {
		case seen+k.toPass <= 0:
			return verdict.Pass, k.time
		case seen-k.toFail > 0:
			return verdict.Fail, k.time
		case k.asked && !(k.least < math.Abs(seen)+k.move):
			return verdict.Inconclusive, k.time
		}
	}
	return verdict.Inconclusive, looks[len(looks)-1].time
}
