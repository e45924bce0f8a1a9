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
// fiftieth. What the temperature does in each is for Prospect.Lasting to say:
// in one that is longer than the swing is stated for it changes by no more if
// steady, otherwise on as quickly. A limit on a drop or an end pressure belongs
// to the length of its hold.
func (o Outlook) HoldTime(steady bool) HoldTime {
	switch {
	case o.Limit.Quantity == quantityDrop || o.Limit.Quantity == quantityPressureEnd || !(o.prospect.Duration > 0):
		return HoldTime{Duration: math.NaN()}
	case o.Absent != "":
		return HoldTime{Duration: math.Inf(1)}
	}
	other := o
	_, over := o.prospect.stated()
	for duration := min(10, over); duration < longestPlanned; duration *= 1.02 {
		other.prospect = o.prospect.Lasting(duration, steady)
		if other.judge(); other.Resolves {
			return HoldTime{Duration: duration}
		}
	}
	left, _ := other.Budget.Largest()
	return HoldTime{Duration: math.Inf(1), Left: left}
}
