package analysis

import (
	"fmt"
	"math"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

const (
	// pressedUp is how much of its highest pressure a trapped side must gain
	// before the hold for its recording to contain how it was pressed up.
	pressedUp = 0.8
	// followedUp is the part of that highest pressure that a feed side's
	// transducer must have shown to have followed it: the pressure came through
	// there. Far below it is another transducer, or a dead one.
	followedUp = 0.5
	// fewestFollowing is how many of the feed side's places for readings must lie
	// between the press-up and the hold for it to be asked at all.
	fewestFollowing = 3
)

// noPressUp is the note of a recording that does not contain it.
const noPressUp = "whether the feed side's transducer followed the pressure was not checked: the recording does not show how the unit was pressed up"

// feedFollowed sees that the feed side's transducer showed the pressure while
// the trapped side was pressed up: one that is dead at zero shows every feed
// side vented. It concerns a feed side that is asked to be below a threshold.
func feedFollowed(h Hold) (finding, string) {
	if h.FeedDeclaredUnmeasured || math.IsNaN(h.FeedBelow) || h.Feed.Len() == 0 {
		return finding{}, "" // said by feedVented
	}
	from, highest, ok := pressUp(h.Trapped.Window(math.Inf(-1), h.Start).Valid())
	if !ok {
		return finding{}, noPressUp
	}
	feed := h.Feed.Window(math.Inf(-1), h.Start)
	if feed.Window(from, h.Start).Len() < fewestFollowing {
		return finding{}, "whether the feed side's transducer followed the pressure was not checked: too few of its readings between the press-up and the hold"
	}
	if seen := highestOf3(feed.Valid()); !(seen >= followedUp*highest) {
		shows := "has no valid reading then"
		if !math.IsInf(seen, -1) {
			shows = "reached " + shown(seen, si.Pressure)
		}
		return finding{
			reason: fmt.Sprintf("the feed side is not shown vented: its transducer did not follow the pressure: the trapped side was pressed up to %s, and it %s",
				shown(highest, si.Pressure), shows),
			advice: "see to the feed side's transducer and its shut-off valve, or declare it unmeasured, and repeat",
		}, ""
	}
	return finding{}, ""
}

// pressUp finds the last time in a pressure at which it rises through half of
// its highest level, s, and that level, Pa; false where it does not gain enough
// for a press-up.
func pressUp(c series.Column) (from, highest float64, ok bool) {
	highest = highestOf3(c)
	lowest := math.Inf(1)
	for i := 1; i+1 < c.Len(); i++ {
		was, is := lowest, medianOf3(c.Value[i-1], c.Value[i], c.Value[i+1])
		if was < followedUp*highest && is >= followedUp*highest {
			from, ok = c.Time[i], ok || was <= (1-pressedUp)*highest
			lowest = is
		}
		lowest = min(lowest, is)
	}
	return from, highest, ok && highest > 0
}

// highestOf3 is the highest median of three neighbouring readings, which no
// single spike moves; of fewer than three the lowest of them, and of none -Inf.
func highestOf3(c series.Column) float64 {
	highest := math.Inf(-1)
	for i := 1; i+1 < c.Len(); i++ {
		highest = max(highest, medianOf3(c.Value[i-1], c.Value[i], c.Value[i+1]))
	}
	if n := c.Len(); n > 0 && n < 3 {
		highest = min(c.Value[0], c.Value[n-1])
	}
	return highest
}
