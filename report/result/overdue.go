package result

import (
	"fmt"
	"strings"
)

// OverdueOverride is an engineer's word that the run may be made although
// calibrations are overdue.
type OverdueOverride struct {
	Reason   string   `json:"reason"`
	By       string   `json:"by"`
	Channels []string `json:"channels"`
}

// overdueOverride is what the recording says of it; nil where nothing was
// overridden.
func overdueOverride(run *Run) *OverdueOverride {
	said := run.Recording.Meta.Overdue
	if said == nil {
		return nil
	}
	o := &OverdueOverride{Reason: said.Reason, By: said.By, Channels: []string{}}
	for _, ch := range run.overdue {
		o.Channels = append(o.Channels, ch.Name+" (due "+ch.Calibration.Due.Format(day)+")")
	}
	return o
}

// lapsed says which of the certificates that were applied later had lapsed on
// the day of the test, of channels that take part in it; nobody overrode that.
func lapsed(run *Run) (reasons []string) {
	if run.Calibration == nil {
		return nil
	}
	needed, _ := run.Bench.OverdueAt(run.Position, run.Recording.Meta.Started)
	for _, ch := range needed {
		for _, c := range run.Calibration.Channels {
			if c.Channel == ch.Name {
				reasons = append(reasons, fmt.Sprintf("certificate %s of %s was due on %s, before the test", c.Certificate, ch.Name, ch.Calibration.Due.Format(day)))
			}
		}
	}
	return reasons
}

// Text says in one line what was overridden, by whom and why.
func (o OverdueOverride) Text() string {
	what := "calibration overdue"
	if len(o.Channels) > 0 {
		what += ": " + strings.Join(o.Channels, ", ")
	}
	return fmt.Sprintf("%s; overridden by %s: %s", what, o.By, o.Reason)
}
