package sequence

import (
	"strings"
	"time"

	"holdbench/daq/procedure"
)

// shortest is the least time a scripted operator takes to answer, as a person
// would: quicker answers are not taken (see Machine).
const shortest = time.Second

// Script is an operator who follows a script: it presses Enter when a phase
// waits for it, works the bench by hooks, and confirms when vented is
// measured. It answers by the times of the statuses it is shown and by
// nothing else, so that a run in lock-step is the same every time.
type Script struct {
	// Answer is where answers go: Loop.Answer. It must be set before the run.
	Answer func(Answer)
	// OnPhase is called when a phase begins; for the hands on the bench.
	OnPhase map[procedure.Phase]func()
	// Delay is how long after its prompt a phase is answered; at least, and
	// by default, a second. Delay[Vented] counts from when vented is measured.
	Delay map[procedure.Phase]time.Duration
	// Insist presses Enter again when what is measured does not fit. Without
	// it the script aborts the test then.
	Insist bool
	// Cues are further answers.
	Cues []Cue
	// Unconfirmed leaves the confirmation of vented to the cues.
	Unconfirmed bool
	// Watcher, if not nil, is shown everything as well.
	Watcher Panel

	due   []dueAnswer
	shown bool
}

// Cue is an answer given some time after a phase began.
type Cue struct {
	Phase  procedure.Phase
	After  time.Duration
	Answer Answer
}

// dueAnswer is an answer that waits for its time.
type dueAnswer struct {
	at     time.Duration
	phase  procedure.Phase // only while in this phase
	vented bool            // only while vented is measured
	answer Answer
}

var _ Panel = (*Script)(nil)

// Prompt notes when to answer, and works the hooks.
func (s *Script) Prompt(p Prompt) {
	if s.Watcher != nil {
		s.Watcher.Prompt(p)
	}
	delay := max(s.Delay[p.Phase], shortest)
	switch {
	case p.Kind == PhaseBegun:
		s.begin(p, delay)
	case p.Kind == Switched, p.Kind == AskedAgain && s.Insist:
		s.later(p, delay, Answer{Kind: GoOn})
	case p.Kind == AskedAgain:
		s.later(p, delay, Answer{Kind: AbortTest, Text: strings.TrimSuffix(p.Text, ".")})
	}
}

// begin begins a phase.
func (s *Script) begin(p Prompt, delay time.Duration) {
	s.due, s.shown = nil, false
	if hook := s.OnPhase[p.Phase]; hook != nil {
		hook()
	}
	if p.Wants == GoOn || p.Wants == DriveOutputs {
		s.later(p, delay, Answer{Kind: p.Wants})
	}
	for _, c := range s.Cues {
		if c.Phase == p.Phase {
			s.later(p, c.After, c.Answer)
		}
	}
}

// later notes an answer for its time.
func (s *Script) later(p Prompt, delay time.Duration, a Answer) {
	s.due = append(s.due, dueAnswer{at: p.At + delay, phase: p.Phase, answer: a})
}

// Status gives the answers whose time has come.
func (s *Script) Status(st Status) {
	if s.Watcher != nil {
		s.Watcher.Status(st)
	}
	if st.Phase == procedure.Vented && st.Vent.Measured && !s.shown && !s.Unconfirmed {
		s.due = append(s.due, dueAnswer{at: st.At + max(s.Delay[procedure.Vented], shortest),
			phase: st.Phase, vented: true, answer: Answer{Kind: ConfirmVented}})
	}
	s.shown = st.Vent.Measured
	due := s.due
	s.due = nil
	for _, d := range due {
		switch {
		case d.phase != st.Phase || d.vented && !st.Vent.Measured:
		case st.At >= d.at:
			s.Answer(d.answer)
		default:
			s.due = append(s.due, d)
		}
	}
}

// Message is only passed on.
func (s *Script) Message(text string) {
	if s.Watcher != nil {
		s.Watcher.Message(text)
	}
}
