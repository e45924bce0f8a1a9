package sequence

import (
	"fmt"
	"time"
)

// ventWatch says whether vented is shown by measurement: for each circuit
// with a transducer a healthy, fresh reading that followed the pressure in
// this very test, below safe for five seconds.
type ventWatch struct {
	roles     Roles
	followers []follower // one for each circuit
}

func newVentWatch(roles Roles, level, safe float64) *ventWatch {
	w := &ventWatch{roles: roles}
	for _, c := range roles.Circuits {
		w.followers = append(w.followers, follower{level: level, safe: safe, fresh: freshFor(c.Trapped.Interval)})
	}
	return w
}

// take reads one reading of a trapped side; releasing is true from the phase
// release on.
func (w *ventWatch) take(at time.Duration, r Reading, releasing bool) {
	if r.Part == Trapped {
		w.followers[r.Circuit].take(at, r, releasing)
	}
}

// missing says, circuit by circuit, what is missing until vented is measured;
// it is measured when nothing is. Where no tested circuit has a transducer it
// never is.
func (w *ventWatch) missing(now time.Duration) []string {
	var out []string
	watched := false
	for i, c := range w.roles.Circuits {
		if !c.Trapped.Exists() {
			continue
		}
		watched = watched || c.Tested
		f := &w.followers[i]
		switch {
		case !f.below(now):
			out = append(out, w.notBelow(c, f, now))
		case f.doubt != "":
			out = append(out, fmt.Sprintf("circuit %s: %s, so its low reading proves nothing", c.Name, f.doubt))
		case c.Tested && !f.proved:
			out = append(out, fmt.Sprintf("circuit %s: its transducer never showed %s or more in this test, so its low reading proves nothing",
				c.Name, w.roles.pressure(f.level)))
		}
	}
	if !watched {
		out = append(out, "no tested circuit has a transducer: vented cannot be measured")
	}
	return out
}

// notBelow says why a circuit's readings do not show it below safe.
func (w *ventWatch) notBelow(c Circuit, f *follower, now time.Duration) string {
	switch {
	case !f.current(now):
		return fmt.Sprintf("circuit %s: no healthy, fresh reading", c.Name)
	case !f.low:
		return fmt.Sprintf("circuit %s: not below %s", c.Name, w.roles.pressure(f.safe))
	}
	return fmt.Sprintf("circuit %s: below %s for %.1f s of %.0f s", c.Name, w.roles.pressure(f.safe),
		(f.last - f.lowSince).Seconds(), ventedFor.Seconds())
}

// cautions names what no measurement watches.
func (w *ventWatch) cautions() []string {
	var out []string
	for _, c := range w.roles.Circuits {
		switch {
		case !c.Trapped.Exists():
			out = append(out, fmt.Sprintf("circuit %s has no transducer: treat it as pressurised until you have seen otherwise", c.Name))
		case !c.Tested:
			out = append(out, fmt.Sprintf("circuit %s is not part of this test: its transducer did not prove itself", c.Name))
		}
	}
	return out
}
