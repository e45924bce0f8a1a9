package analysis

import (
	"fmt"
	"math"
	"strings"

	"holdbench/analysis/decay"
	"holdbench/analysis/uncertainty"
	"holdbench/analysis/verdict"
)

// mayMove is the chance with which an estimate may still move, with the noise
// that more time takes away, farther than is reckoned with.
const mayMove = 0.05

// moreTime says whether more of the hold, up to the longest, can settle what is
// not decided at this look, and why.
func (l *looking) moreTime(h Hold, a Assessment) (yes bool, why string) {
	switch {
	case !a.Valid:
		return false, "more time does not mend what keeps the hold from being judged"
	case l.tried == nil:
		return true, reasonUnseen
	}
	var hopeless []string
	for i, d := range a.Decisions {
		if d.Verdict != verdict.Inconclusive {
			continue
		}
		why, settles := l.settles(h, d.Limit, l.estimates[i])
		if settles {
			return true, why
		}
		hopeless = append(hopeless, why)
	}
	return false, strings.Join(appendUnique(nil, hopeless), "; ")
}

func appendUnique(all, more []string) []string {
	for _, text := range more {
		all = appendNew(all, text)
	}
	return all
}

// settles reports whether the longest hold may decide a limit: whether, were
// the estimate to move by all that noise still lets it move, what does not
// become smaller with time would leave room for a decision.
func (l *looking) settles(h Hold, limit verdict.Limit, e Quantity) (why string, yes bool) {
	name := strings.ToLower(limit.Title())
	text := fmt.Sprintf("%s %s is too close to the limit of %s", limit.Title(), withExpanded(e), limit.Text())
	if e.Reciprocal != nil {
		text = fmt.Sprintf("the %s is too close to the limit of %s", name, limit.Text())
		e = atLimit(limit, *e.Reciprocal)
	}
	switch {
	case e.Absent != "":
		return fmt.Sprintf("more time does not settle the %s: %s", name, e.Absent), false
	case !DecidedByLooks(limit.Quantity):
		return fmt.Sprintf("the %s belongs to the whole hold", name), true
	}
	now, then, rest := l.grown(e)
	room := math.Abs(limit.Exceeded(e.Value)) + uncertainty.T(1-mayMove, math.Inf(1))*math.Sqrt(math.Max(0, now*now-then*then))
	pass, fail := limit.Risks()
	least := uncertainty.T(1-math.Max(pass, fail), math.Inf(1)) * rest
	if limit.Rule == verdict.Simple {
		room, least = limit.LargestU(), uncertainty.T((1+intervalLevel)/2, math.Inf(1))*rest
	}
	if least < room {
		return text + ": more time can settle it", true
	}
	largest := ""
	if line, ok := l.left(e.Budget).Largest(); ok {
		largest = ", most of it " + line.Source + ","
	}
	return fmt.Sprintf("%s, and more time will not settle it: what does not become smaller with time%s is too much by itself", text, largest), false
}

// grown returns the noise part of a standard uncertainty now and at the end of
// the longest hold, and the rest of it then.
func (l *looking) grown(e Quantity) (now, then, rest float64) {
	share := l.time() / l.Longest()
	for _, line := range e.Budget {
		u := line.StdUncertainty
		later := u * math.Pow(share, falls(line.Source))
		if ofNoise(line.Source) {
			now, then = math.Hypot(now, u), math.Hypot(then, later)
		} else {
			rest = math.Hypot(rest, later)
		}
	}
	return now, then, rest
}

// falls is the power of time with which a line of a rate's budget becomes
// smaller at best: what noise leaves, what is wrong by a fixed amount of
// pressure or temperature, and what belongs to the rate itself.
func falls(source string) float64 {
	switch source {
	case decay.SourceLiquidStart, decay.SourceLiquidResponse, decay.SourceLag, decay.SourceLaw, decay.SourceZeroShift,
		decay.SourceWarming, decay.SourceWarmingTime, decay.SourceSettlingAmplitude, decay.SourceSettlingTime, decay.SourceCreep,
		decay.SourceColdJunction, decay.SourceExcitation:
		return 1
	}
	return timePower(source)
}

// left is what of a budget is left at the end of the longest hold, less noise.
func (l *looking) left(b uncertainty.Budget) uncertainty.Budget {
	_, out := parted(b)
	for i := range out {
		out[i].StdUncertainty *= math.Pow(l.time()/l.Longest(), falls(out[i].Source))
	}
	return out
}
