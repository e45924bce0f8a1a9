package procedure

import (
	"time"

	"holdbench/daq/strict"
)

// shift is how long a shift is, as challenge_every = "shift" means it.
const shift = 8 * time.Hour

const challengeWanted = `a time with unit, from "1 min" to "31 d", or "shift" for 8 h`

// challenges reads how often the bench must have been held to a known leak,
// and what becomes of a test where it was not.
func challenges(t *strict.Table) (every time.Duration, unchallenged string) {
	k, otherwise := t.Optional("challenge_every"), t.Optional("unchallenged")
	if !k.Given() {
		otherwise.Refuse("only beside challenge_every")
		return 0, ""
	}
	unchallenged = "warn"
	if otherwise.Given() {
		unchallenged = otherwise.OneOf("warn", "refuse")
	}
	if k.Written() == "shift" {
		return shift, unchallenged
	}
	return k.DurationOr(challengeWanted, time.Minute, longestPhase), unchallenged
}
