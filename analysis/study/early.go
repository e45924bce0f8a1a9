package study

import (
	"slices"

	"holdbench/analysis"
	"holdbench/analysis/verdict"
)

// Early judges by analysis.Assess as the hold grows, at that many looks at
// equal times, the last of them at its end, with the risk spent as is usual
// there. The verdict is that of the first look that decides, and the estimates
// are those that stood then, with intervals that allow for the looks.
func Early(looks int) Judge {
	return Judge{Name: "early", Title: "holdbench with early decision", Judge: func(h analysis.Hold) Answer {
		all := looksAt(h, looks)
		for _, upTo := range []int{min(firstLooks, looks), looks} {
			a, decided := played(h, all, upTo)
			if decided < upTo {
				a, _ = played(h, all, decided)
			}
			if decided < upTo || a.Verdict != verdict.Inconclusive || upTo == looks {
				out := answerOf(a)
				out.At = float64(decided) / float64(looks)
				return out
			}
		}
		panic("study: the last look ends it")
	}}
}

// firstLooks are played before all of them: most units need no more.
const firstLooks = 4

// played judges a hold at the first looks of a plan and returns the number of
// the one that decided; that of the last where none did.
func played(h analysis.Hold, all analysis.Looks, upTo int) (a analysis.Assessment, decided int) {
	all.Taken = all.Taken[:upTo]
	h.Looks = &all
	a = analysis.Assess(h)
	return a, decidedAt(a)
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

// decidedAt is the number of the first look that decided, that of the last
// where none did.
func decidedAt(a analysis.Assessment) int {
	looks := a.Early.Looks
	at := slices.IndexFunc(looks, func(l analysis.Look) bool { return l.Verdict != verdict.Inconclusive })
	if at < 0 {
		return len(looks)
	}
	return looks[at].Number
}
