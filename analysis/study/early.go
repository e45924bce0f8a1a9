package study

import (
	"holdbench/analysis"
	"holdbench/analysis/verdict"
)

// Early judges by analysis.Assess as the hold grows, at that many looks at
// equal times, the last of them at its end, with the risk spent as is usual
// there. The verdict is that of the first look that decides, and the estimates
// are those that stood then, with intervals that allow for the looks.
func Early(looks int) Judge {
	return Judge{Name: "early", Title: "holdbench with early decision", Judge: func(h analysis.Hold) Answer {
		a, decided := watched(h, looksAt(h, looks))
		out := answerOf(a)
		out.At = float64(decided) / float64(looks)
		return out
	}}
}

// watched looks at a hold until a look decides, and returns its number; that
// of the last where none did.
func watched(h analysis.Hold, all analysis.Looks) (a analysis.Assessment, number int) {
	var w analysis.Watch
	for k, taken := range all.Taken {
		upTo := all
		upTo.Taken = all.Taken[:k+1]
		h.Looks, number = &upTo, taken.Number
		if a = w.Assess(h); a.Verdict != verdict.Inconclusive {
			break
		}
	}
	return a, number
}

// looksAt plans so many looks at a hold, and takes all of them.
func looksAt(h analysis.Hold, looks int) analysis.Looks {
	out := analysis.Looks{Hold: h.End - h.Start, Spending: verdict.PocockLike}
	for k := range looks {
		since := (h.End - h.Start) * float64(k+1) / float64(looks)
		out.Plan = append(out.Plan, since)
		out.Taken = append(out.Taken, analysis.TakenLook{Number: k + 1, At: h.Start + since})
	}
	return out
}
