package result

import (
	"fmt"
	"slices"
)

// postdated says which certificates of channels that took part are later than
// the test: what a transducer was found to do then is taken to have been so
// before.
func postdated(run *Run, took []Instrument) (reasons []string) {
	for _, ch := range run.Bench.Postdated(run.Recording.Meta.Started) {
		if slices.ContainsFunc(took, func(i Instrument) bool { return i.Channel == ch.Name }) {
			reasons = append(reasons, fmt.Sprintf("certificate %s of %s, of %s, is later than the test",
				ch.Calibration.Certificate, ch.Name, ch.Calibration.Date.Format(day)))
		}
	}
	return reasons
}
