package sequence

import (
	"fmt"
	"time"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// Look asks for a look at the growing hold: what do the readings up to At say?
type Look struct {
	// Number is its place among Planned looks, from 1.
	Number, Planned int
	// At is the clock's time of the look.
	At time.Duration
}

// String is "3 of 12", as events name it.
func (l Look) String() string { return fmt.Sprintf("%d of %d", l.Number, l.Planned) }

// LookAnswer is what a look saw.
type LookAnswer struct {
	// Number is the look's.
	Number int
	// End is true where the hold is decided, or more of it settles nothing.
	End bool
	// Text says in words what was decided and by which boundary, or why the
	// hold goes on: it is recorded. Said is the same for the operator, a whole
	// line; empty is "Look 3 of 12: " and the Text.
	Text, Said string
}

// said is the line that the operator reads.
func (a LookAnswer) said(l Look) string {
	if a.Said != "" {
		return a.Said
	}
	return fmt.Sprintf("Look %s: %s", l, a.Text)
}

// answerWithin is how long after the longest hold its last look may still be
// answered.
const answerWithin = time.Minute

// looking is where the machine stands with the looks at a hold.
type looking struct {
	// taken is the number of the newest look; open is true until it is
	// answered.
	taken Look
	open  bool
	// text is the newest answer's.
	text string
}

// hold passes the time of a hold that is looked at: the looks that are due are
// taken as one.
func (m *Machine) hold() {
	times := m.p.Looks.Times
	elapsed := m.now - m.entered
	if m.looks.open {
		if elapsed >= times[len(times)-1]+answerWithin {
			m.closeLook("nobody answered")
			m.leave(false)
		}
		return
	}
	due := 0
	for due < len(times) && elapsed >= times[due] {
		due++
	}
	if due <= m.looks.taken.Number {
		return
	}
	m.looks.taken, m.looks.open = Look{Number: due, Planned: len(times), At: m.now}, true
	m.do(Record{daq.Event{At: m.now, Until: daq.Open, Kind: daq.Looked, Subject: m.looks.taken.String()}})
	m.do(TakeLook{m.looks.taken})
}

// looked takes the answer of a look. One that comes after the hold changes
// nothing.
func (m *Machine) looked(a LookAnswer) {
	if !m.looks.open || a.Number != m.looks.taken.Number || m.phase() != procedure.Hold {
		return
	}
	m.closeLook(a.Text)
	m.looks.text = a.Text
	m.do(Say{a.said(m.looks.taken)})
	if a.End || m.looks.taken.Number == m.looks.taken.Planned {
		m.leave(false)
	}
}

// closeLook records how the open look ended.
func (m *Machine) closeLook(text string) {
	if !m.looks.open {
		return
	}
	m.looks.open = false
	m.do(Record{daq.Event{At: m.looks.taken.At, Until: m.now, Kind: daq.Looked, Subject: m.looks.taken.String(), Text: text}})
}

// remaining is how much longer a timed phase lasts at most: a hold that went
// past its own end, up to the longest.
func (m *Machine) remaining() time.Duration {
	step := m.steps[m.at]
	elapsed := m.now - m.entered
	if elapsed >= step.Duration && step.ExtendTo > 0 {
		return max(step.ExtendTo-elapsed, 0)
	}
	return max(step.Duration-elapsed, 0)
}

// Looks reads from a recording's events the looks that were taken at its hold,
// in their order, answered or not.
func Looks(events []daq.Event) []Look {
	var out []Look
	for _, e := range events {
		var l Look
		if e.Kind != daq.Looked {
			continue
		}
		if n, err := fmt.Sscanf(e.Subject, "%d of %d", &l.Number, &l.Planned); err == nil && n == 2 {
			l.At = e.At
			if len(out) == 0 || out[len(out)-1] != l { // not its own end
				out = append(out, l)
			}
		}
	}
	return out
}
