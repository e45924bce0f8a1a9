package decay

import (
	"math"
	"strings"

	"holdbench/analysis/uncertainty"
)

// said is what a law says of something: the function, and that in whose
// spread the readings' resolution counts.
type said struct{ fn, against function }

// together is what the law taken says, with its budget, and as one line more
// how far the others say something else, each as much as it counts: so no
// answer rests on the law that chance favours. besides as of doubts.
//
// Source: Burnham and Anderson [6], 4.3: unconditional variance (mark M), here
// about the law taken.
func (f *fitting) together(weight []float64, besides []float64, of func(l *law) said) (value float64, budget uncertainty.Budget) {
	taken := f.choice.taken
	if weight[taken] == 0 { // it says nothing there
		for i, w := range weight {
			if w > weight[taken] {
				taken = i
			}
		}
	}
	s := of(f.choice.laid[taken])
	value = s.fn.value
	budget = f.doubts(f.responsesTo(taken), s.fn, s.against, besides)
	var spread float64
	var names []string
	for i, w := range weight {
		if w > 0 && i != taken {
			spread += w * square(of(f.choice.laid[i]).fn.value-value)
			names = append(names, f.choice.laid[i].title)
		}
	}
	if names == nil {
		return value, budget
	}
	return value, append(budget, uncertainty.Line{
		Source: SourceLaw, DegreesOfFreedom: math.Inf(1), StdUncertainty: math.Sqrt(spread),
		Note: f.choice.laid[taken].title + " taken, not ruled out: " + strings.Join(names, ", "),
	})
}

// responsesTo are those of the law at a place of the table, kept for the next
// that asks.
func (f *fitting) responsesTo(i int) responses {
	if f.responding == nil {
		f.responding = make([]responses, len(models))
	}
	if f.responding[i].law == nil {
		f.responding[i] = f.responsesOf(f.choice.laid[i])
	}
	return f.responding[i]
}

// beyond are the weights of the laws that can be followed past the hold; ok
// is false where the other ones count for more.
func (c choice) beyond() (weight []float64, ok bool) {
	weight = append([]float64(nil), c.weight...)
	var sum float64
	for i, m := range models {
		if m.within {
			weight[i] = 0
		}
		sum += weight[i]
	}
	for i := range weight {
		weight[i] /= sum
	}
	return weight, sum >= 0.5
}

// wanders is why a law says nothing outside the hold.
const wanders = "the loss comes and goes: what it does at another time cannot be told"
