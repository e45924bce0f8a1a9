package analysis

import (
	"math"

	"holdbench/analysis/uncertainty"
)

// longestPlanned is the longest hold that a plan looks at, s: that of a soak.
const longestPlanned = 31 * 86400

// HoldTime is how long a hold has to be to decide a limit reliably.
type HoldTime struct {
	// Duration in s; +Inf where no time settles it, NaN where the length
	// belongs to the limit.
	Duration float64
	// Left is what remains uncertain in the longest hold looked at, where no
	// time settles it, by its largest line.
	Left uncertainty.Line
}

// HoldTime looks for the shortest hold that resolves the limit, in steps of a
// fiftieth. In a shorter hold the temperature changes by so much less; in a
// longer one by no more if steady, otherwise on as quickly. A limit on a drop or an end pressure
// belongs to the length of its hold.
func (o Outlook) HoldTime(steady bool) HoldTime {
	switch {
	case o.Limit.Quantity == quantityDrop || o.Limit.Quantity == quantityPressureEnd || !(o.prospect.Duration > 0):
		return HoldTime{Duration: math.NaN()}
	case o.Absent != "":
		return HoldTime{Duration: math.Inf(1)}
	}
	other := o
	for duration := min(10, o.prospect.Duration); duration < longestPlanned; duration *= 1.02 {
		other.prospect = o.prospect.Lasting(duration, steady && duration > o.prospect.Duration)
		if other.judge(); other.Resolves {
			return HoldTime{Duration: duration}
		}
	}
	left, _ := other.Budget.Largest()
	return HoldTime{Duration: math.Inf(1), Left: left}
}
