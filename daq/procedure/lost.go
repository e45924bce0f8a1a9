package procedure

import (
	"time"

	"holdbench/daq/strict"
)

// What becomes of a test when an instrument gives no valid readings.
const (
	ContinueOnLost = "continue"
	AbortOnLost    = "abort"
)

// defaultLostAfter is a choice of our own: longer than an adapter needs to be
// plugged in again by somebody who stands beside it.
const defaultLostAfter = 10 * time.Second

// lost reads what becomes of the test when an instrument is lost, and after
// how long: 0 where it goes on.
func lost(t *strict.Table) time.Duration {
	k, after := t.Optional("on_lost_instrument"), t.Optional("lost_after")
	if !k.Given() || k.OneOf(ContinueOnLost, AbortOnLost) != AbortOnLost {
		after.Refuse(`only beside on_lost_instrument = "abort"`)
		return 0
	}
	if !after.Given() {
		return defaultLostAfter
	}
	return after.Duration(time.Second, time.Hour)
}
