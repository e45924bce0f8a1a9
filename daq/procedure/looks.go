package procedure

import (
	"fmt"
	"slices"
	"time"

	"holdbench/analysis/verdict"
	"holdbench/daq/strict"
)

// Looks are the times at which a growing hold is looked at, so that it may be
// decided before its end, or go on past it. They and the spending are fixed
// over the longest hold that the procedure allows.
type Looks struct {
	// Times since the hold began, increasing: Duration is one of them, and
	// the last is the longest hold.
	Times    []time.Duration
	Spending verdict.Spending
}

const (
	// usualLooks is how many looks there are unless the file says otherwise,
	// usualMore how many of a hold that only goes on, counted from its own
	// end.
	usualLooks, usualMore = 12, 5
	// firstShare is the part of the longest hold before which nobody looks
	// unless the file says otherwise.
	firstShare = 10
	mostLooks  = 50
	// soonest is the earliest look, and the least time between two.
	soonest = time.Second
)

// extendTo reads how long a hold may become.
func extendTo(k strict.Key, hold time.Duration) time.Duration {
	if !k.Given() {
		return 0
	}
	longest := k.Duration(time.Second, longestPhase)
	if longest != 0 && longest <= hold {
		k.Fault(k.Found(), "a time longer than the hold's duration")
		return 0
	}
	return longest
}

// looks reads [early_decision]; a hold that may go on has looks without it.
func looks(k strict.Key, steps []Step) *Looks {
	i := slices.IndexFunc(steps, func(s Step) bool { return s.Phase == Hold })
	table := k.Table()
	if i < 0 || table == nil && steps[i].ExtendTo == 0 {
		return nil
	}
	hold, longest := steps[i].Duration, max(steps[i].Duration, steps[i].ExtendTo)
	switch {
	case table == nil:
		return &Looks{Times: evenly(hold, longest, min(usualMore, 1+int((longest-hold)/soonest)))}
	case hold == 0: // at fault already
		table.Optional("looks")
		table.Optional("first_look")
		table.Optional("spending")
		return nil
	}
	out := &Looks{}
	if s := table.Optional("spending"); s.Given() {
		if word := s.OneOf(verdict.Spendings...); word != "" {
			out.Spending = verdict.Spending(slices.Index(verdict.Spendings, word))
		}
	}
	number, first := table.Optional("looks"), table.Optional("first_look")
	if number.Listed() {
		first.Refuse("looks says it already")
		out.Times = withLook(withLook(listedLooks(number, longest), hold), longest)
	} else {
		out.Times = nearestIs(countedLooks(number, first, longest), hold)
	}
	return out
}

// countedLooks are so many looks at even times.
func countedLooks(number, first strict.Key, longest time.Duration) []time.Duration {
	n, from := usualLooks, max(longest/firstShare, soonest)
	if number.Given() {
		n = number.Int(2, mostLooks)
	}
	if first.Given() {
		from = first.Duration(soonest, longestPhase)
		if longest > 0 && from >= longest {
			first.Fault(first.Found(), "a time before the end of the longest hold")
		}
	}
	switch {
	case from >= longest: // at fault already
		return nil
	case longest-from < time.Duration(n-1)*soonest:
		number.Fault(fmt.Sprintf("%d looks", n), "fewer looks: at least a second between two")
		return nil
	}
	return evenly(from, longest, n)
}

// listedLooks are looks at stated times.
func listedLooks(k strict.Key, longest time.Duration) []time.Duration {
	var out []time.Duration
	last := time.Duration(0)
	list := k.List(`how many looks, or their times since the hold began, e.g. ["1 min", "2 min", "5 min"]`, 1)
	if len(list) > mostLooks {
		k.Fault("a list of more", "at most 50 looks")
	}
	for _, e := range list {
		at := e.Duration(soonest, longestPhase)
		switch {
		case at == 0:
			continue
		case at < last+soonest:
			e.Fault(e.Found(), "times that increase, at least a second apart")
		case longest > 0 && at > longest:
			e.Fault(e.Found(), "a time within the longest hold")
		}
		out, last = append(out, at), at
	}
	return out
}

// evenly returns n times from first to last; only the last where there is no
// room for more.
func evenly(first, last time.Duration, n int) []time.Duration {
	if n < 2 || first >= last {
		return []time.Duration{last}
	}
	var out []time.Duration
	for k := range n {
		at := first + time.Duration(int64(last-first)/int64(n-1)*int64(k))
		out = append(out, at.Round(soonest/10))
	}
	out[n-1] = last
	return out
}

// nearestIs moves the look nearest to the hold's own end there, so that their
// number stays; the last look stays where it is.
func nearestIs(times []time.Duration, hold time.Duration) []time.Duration {
	nearest := -1
	for i, at := range times {
		if at == hold {
			return times
		}
		if i+1 < len(times) && (nearest < 0 || (at-hold).Abs() < (times[nearest]-hold).Abs()) {
			nearest = i
		}
	}
	if nearest >= 0 {
		times[nearest] = hold
	}
	return times
}

// withLook adds a look that is not there yet.
func withLook(times []time.Duration, at time.Duration) []time.Duration {
	i, there := slices.BinarySearch(times, at)
	if there {
		return times
	}
	return slices.Insert(times, i, at)
}
