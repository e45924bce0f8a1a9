// Package sequence knows how a procedure is run on a bench: a pure state
// machine that is stepped by scans, answers and ticks of time (Machine), and
// the loop that steps it (Loop): write, step, act, show. It keeps the vent
// watch. It knows no model of a hold; what is judged at the hold's end is
// handed in as a function.
//
// Conventions: times are clock times; pressures are gauge, Pa; temperatures
// K. The circuits of a procedure go through the phases together; each phase
// is nevertheless recorded once for each circuit (see Windows), so that later
// they may part.
//
// The program is no safety device. Trapped pressure is a hazard until proven
// otherwise: a run ends as Vented only when it was both measured and
// confirmed, see ventWatch.
package sequence

import (
	"math"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/procedure"
)

const (
	// tooSoon: an Enter that follows its prompt so quickly is a slip of the
	// finger (a key that bounced, a line typed ahead), not an answer.
	tooSoon = 500 * time.Millisecond
	// ventReminder is how often the operator is told what the vent watch
	// still waits for.
	ventReminder = time.Minute
)

// Machine runs a procedure: one step at a time, without a goroutine, without
// reading a clock. The same inputs give the same actions.
type Machine struct {
	p     *procedure.Procedure
	roles Roles
	steps []procedure.Step // the procedure's, up to release, then vented

	now     time.Duration
	begun   time.Duration // of the run
	started bool
	done    bool
	out     []Action

	at      int // index in steps
	entered time.Duration
	// asked is when the prompt that waits for an answer was last shown,
	// question its text.
	asked    time.Duration
	question string
	// again is true once the operator was asked a second time in this phase.
	again bool

	newest  [][3]newest // by circuit and part
	lost    [][3]bool
	over    [][3]over
	vent    *ventWatch
	feeds   []follower // of the feed sides, by circuit
	looks   looking
	zero    zeroing
	drive   driver
	states  []SwitchState // the newest, by switch
	shown   bool          // vented is measured and the operator was told
	outcome Outcome
}

// NewMachine returns the machine for a procedure whose circuits are watched
// as the roles say. The zero Display means the default one. The first Step
// begins the first phase.
func NewMachine(p *procedure.Procedure, roles Roles) *Machine {
	if roles.Display.Pressure.Symbol == "" {
		roles.Display = si.DefaultDisplay
	}
	m := &Machine{
		p: p, roles: roles, steps: allSteps(p),
		newest: make([][3]newest, len(roles.Circuits)),
		lost:   make([][3]bool, len(roles.Circuits)),
		over:   make([][3]over, len(roles.Circuits)),
		drive:  driver{waiting: map[string]waiting{}},
		states: make([]SwitchState, len(roles.Switches)),
		vent:   newVentWatch(roles, proofLevel(p), p.SafePressure),
		feeds:  feedFollowers(roles, p),
		outcome: Outcome{
			Vented: TreatAsPressurised,
			Reason: cutShort,
		},
	}
	for i, c := range roles.Circuits {
		for _, part := range parts {
			m.newest[i][part].role = c.role(part)
		}
	}
	return m
}

// allSteps are the procedure's steps, closed by release and the vent watch
// whatever the procedure says.
func allSteps(p *procedure.Procedure) []procedure.Step {
	var steps []procedure.Step
	if p.Zero != nil {
		steps = append(steps, zeroStep(p.Zero))
	}
	for _, s := range p.Steps {
		if s.Phase != procedure.Release && s.Phase != procedure.Vented {
			steps = append(steps, s)
		}
	}
	release, ok := p.Step(procedure.Release)
	if !ok {
		release = procedure.Step{Phase: procedure.Release, ByOperator: true}
	}
	return append(steps, release, procedure.Step{Phase: procedure.Vented, ByOperator: true})
}

// Step takes one input and returns what is to be done, in order. Once the run
// is over it returns nothing more. Inputs may come slightly out of order: the
// machine's time never runs backwards.
func (m *Machine) Step(in Input) []Action {
	if m.done {
		return nil
	}
	m.out = nil
	m.now = max(m.now, in.At)
	if !m.started {
		m.started, m.begun = true, m.now
		m.enter(0)
	}
	m.take(in.At, in.Readings)
	m.watchReadings()
	m.interlock(in)
	for _, s := range in.Switches {
		m.states[s.Switch] = s
	}
	if in.Driving != nil {
		m.driven(*in.Driving)
	}
	m.watchOutputs()
	if in.Look != nil {
		m.looked(*in.Look)
	}
	if in.Answer != nil {
		m.answer(*in.Answer)
	}
	m.passTime()
	return m.out
}

// Done says whether the run is over.
func (m *Machine) Done() bool { return m.done }

// Outcome says how the run ended, or how it stands.
func (m *Machine) Outcome() Outcome { return m.outcome }

// take keeps the readings of a scan. A scan that is older than what is known
// of its channel is left out.
func (m *Machine) take(at time.Duration, readings []Reading) {
	for _, r := range readings {
		n := &m.newest[r.Circuit][r.Part]
		if n.asked && at < n.at {
			continue
		}
		n.take(at, r)
		m.over[r.Circuit][r.Part].take(at, r, n.role.Interval, m.p.MaxPressure)
		m.takeZero(at, r)
		if r.Part == Feed {
			m.feeds[r.Circuit].take(at, r, true)
		}
		m.vent.take(at, r, m.phase() == procedure.Release || m.phase() == procedure.Vented)
	}
}

// phase is where the run stands.
func (m *Machine) phase() procedure.Phase { return m.steps[m.at].Phase }

// testing says whether the test still runs: release has not begun.
func (m *Machine) testing() bool {
	return m.phase() != procedure.Release && m.phase() != procedure.Vented
}

// do appends an action.
func (m *Machine) do(a Action) { m.out = append(m.out, a) }

// record wants an event written.
func (m *Machine) record(kind daq.EventKind, circuit, subject, text string) {
	m.do(Record{daq.Event{At: m.now, Until: m.now, Kind: kind, Circuit: circuit, Subject: subject, Text: text}})
}

// Status says how things stand.
func (m *Machine) Status() Status {
	step := m.steps[m.at]
	s := Status{At: m.now, Phase: step.Phase, Elapsed: m.now - m.entered, Timed: !step.ByOperator,
		Aborted: m.outcome.Aborted,
		Vent:    VentStatus{State: m.outcome.Vented, Cautions: m.vent.cautions()}}
	if s.Timed {
		s.Remaining = m.remaining()
	}
	if step.Phase == procedure.Hold {
		s.Look = m.looks.text
		if m.p.Looks != nil {
			s.Until, s.Longest = step.Duration, max(step.Duration, step.ExtendTo)
		}
	}
	s.Vent.Missing = m.vent.missing(m.now)
	s.Vent.Measured = len(s.Vent.Missing) == 0
	for i, c := range m.roles.Circuits {
		s.Circuits = append(s.Circuits, CircuitStatus{Name: c.Name, Tested: c.Tested,
			Trapped: m.value(i, Trapped), Feed: m.value(i, Feed), Temperature: m.value(i, Temperature)})
	}
	for i, w := range m.roles.Switches {
		s.Switches = append(s.Switches, SwitchStatus{Name: w.Name, Known: m.states[i].Healthy, On: m.states[i].On})
	}
	return s
}

// value is the newest reading if it is healthy and fresh, else NaN.
func (m *Machine) value(circuit int, part Part) float64 {
	if !m.started {
		return math.NaN()
	}
	return m.newest[circuit][part].now(m.now)
}
