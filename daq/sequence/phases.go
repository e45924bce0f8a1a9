package sequence

import (
	"strings"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// enter begins a phase: one event for each tested circuit, then its prompt.
func (m *Machine) enter(at int) {
	m.closeLook("the hold ended before it was answered")
	m.endDrives()
	m.at, m.entered, m.asked, m.again = at, m.now, m.now, false
	m.zero = zeroing{}
	m.forgetLost()
	step := m.steps[at]
	for _, c := range m.roles.Circuits {
		if c.Tested {
			m.record(daq.PhaseBegins, c.Name, string(step.Phase), "")
		}
	}
	if step.Phase == procedure.Hold {
		m.warnAtStart()
	}
	m.beginDrives(step)
	if m.at != at {
		return // what the phase drives has aborted the test
	}
	if step.Phase == procedure.Release && len(m.drive.held) > 0 {
		m.show(PhaseBegun, DriveOutputs, m.heldText())
		return
	}
	m.show(PhaseBegun, m.wants(), m.promptText(step))
}

// wants is the answer that the phase as such waits for.
func (m *Machine) wants() AnswerKind {
	step := m.steps[m.at]
	switch {
	case step.Phase == procedure.Vented:
		return ConfirmVented
	case step.ByOperator || m.again:
		return GoOn
	}
	return ""
}

// show shows a prompt; one that waits for an answer, or tells of lost
// readings, is recorded too.
func (m *Machine) show(kind PromptKind, wants AnswerKind, text string) {
	if wants != "" {
		m.asked = m.now
		if kind != Reminder {
			m.question = text
		}
		m.record(daq.Asked, "", string(m.phase()), text)
	}
	m.do(Show{Prompt{At: m.now, Phase: m.phase(), Kind: kind, Wants: wants, Text: text}})
}

// passTime ends what ends by time and asks again what waits too long.
func (m *Machine) passTime() {
	step := m.steps[m.at]
	switch {
	case m.done:
	case m.zero.on:
		m.watchZero()
	case step.Phase == procedure.Vented:
		m.watchVent()
	case step.Phase == procedure.Hold && m.p.Looks != nil:
		m.hold()
	case !step.ByOperator && m.now-m.entered >= step.Duration && m.leave(false):
	case m.wants() != "" && step.Timeout > 0 && m.now-m.asked >= step.Timeout:
		m.show(Reminder, m.wants(), "Still waiting. "+m.question)
	}
}

// leave ends the phase if what is measured fits, or if the operator goes on
// all the same when asked again. It says whether the phase ended.
func (m *Machine) leave(byEnter bool) bool {
	m.pumpsOff(string(m.phase())+" ends", false)
	wrong := m.wrong()
	switch {
	case len(wrong) == 0:
		if byEnter {
			m.record(daq.Answered, "", string(GoOn), "")
		}
	case !m.again:
		if byEnter {
			m.record(daq.Answered, "", string(GoOn), "asked again")
		}
		m.again = true
		m.show(AskedAgain, GoOn, strings.Join(wrong, "; ")+": "+m.remedy()+", or press Enter again to go on anyway.")
		return false
	case byEnter:
		m.record(daq.Answered, "", string(GoOn), "went on anyway: "+strings.Join(wrong, "; "))
	default:
		return false
	}
	m.next()
	return true
}

// next begins the following phase. A hold that ends here ran its full length,
// or as long as its looks wanted.
func (m *Machine) next() {
	held := m.phase() == procedure.Hold
	m.outcome.Completed = m.outcome.Completed || held
	m.enter(m.at + 1)
	if held {
		m.do(HoldEnded{})
	}
}

// abort ends the test, never the recording nor the vent watch: release
// follows. Once the test is over there is nothing left to abort.
func (m *Machine) abort(who, why string) {
	if !m.testing() {
		m.record(daq.Note, "", "abort", cause(who, why)+" (the test was over already)")
		m.do(Say{"The test is over already; the vent watch goes on."})
		return
	}
	m.outcome.Aborted, m.outcome.Cause = true, cause(who, why)
	m.record(daq.Abort, "", who, why)
	m.do(Say{"Test aborted: " + m.outcome.Cause + ". The recording and the vent watch go on."})
	m.enter(len(m.steps) - 2)
}
