package main

import (
	"errors"
	"fmt"
	"time"

	"holdbench/daq/bench"
	"holdbench/daq/strict"
)

// refusePostdated refuses a bench with a certificate of a day that is still to
// come: there is none yet. No reason overrides that.
func refusePostdated(b *bench.Bench, at time.Time) error {
	var faults []error
	for _, ch := range b.Postdated(at) {
		faults = append(faults, &strict.Error{
			File: b.Path, Line: ch.Line, Field: fmt.Sprintf("channel %q: calibration: date", ch.Name),
			Found: ch.Calibration.Date.Format(time.DateOnly) + ", which is still to come",
			Want:  "the day of the calibration, as its certificate says; or this computer's clock is wrong: today is " + at.Format(time.DateOnly),
		})
	}
	return errors.Join(faults...)
}
