package bench

import "time"

// Postdated returns the channels whose calibration is dated after the day of
// at, in the order of the bench file: at that instant no place on earth has its
// day yet, whose clocks are at most 14 hours ahead of UTC.
func (b *Bench) Postdated(at time.Time) []Channel {
	var out []Channel
	for _, c := range b.Channels {
		if c.Calibration != nil && c.Calibration.Date.After(at.Add(14*time.Hour)) {
			out = append(out, c)
		}
	}
	return out
}
