package sequence

import (
	"fmt"
	"strings"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// answer takes what the operator says.
func (m *Machine) answer(a Answer) {
	text := strings.TrimSpace(a.Text)
	switch a.Kind {
	case GoOn:
		m.goOn()
	case ConfirmVented:
		m.confirm(text)
	case OverrideVented:
		m.override(text)
	case AbortTest:
		m.abort("operator", text)
	case DriveOutputs:
		m.driveHeld()
	case TakeNote:
		m.record(daq.Note, "", "operator", text)
		m.do(Say{"Noted."})
	}
}

// goOn takes an Enter.
func (m *Machine) goOn() {
	step := m.steps[m.at]
	switch {
	case m.zero.on:
		m.refuse(GoOn, "The zeros are being read; it goes on by itself.")
	case step.Phase == procedure.Vented:
		m.refuse(GoOn, m.ventText())
	case m.wants() != GoOn:
		m.refuse(GoOn, fmt.Sprintf("%s ends by itself in %s.", capital(string(step.Phase)),
			minutes(m.remaining())))
	case m.now-m.asked < tooSoon:
		m.refuse(GoOn, "That Enter came too soon after the prompt and was not taken. Read it, then press Enter.")
	case step.Phase == procedure.ZeroCheck:
		m.record(daq.Answered, "", string(GoOn), "")
		m.beginZero(false, "")
	default:
		m.leave(true)
	}
}

// confirm takes the operator's word that the unit is vented. It counts only
// while vented is measured.
func (m *Machine) confirm(remark string) {
	if !m.venting(ConfirmVented) {
		return
	}
	if missing := m.vent.missing(m.now); len(missing) > 0 {
		m.refuse(ConfirmVented, m.ventText())
		return
	}
	if m.p.Zero != nil && !m.zero.after {
		m.record(daq.Answered, "", string(ConfirmVented), remark)
		m.beginZero(true, remark)
		return
	}
	m.confirmed(remark)
}

// confirmed ends the run: vented is measured and confirmed.
func (m *Machine) confirmed(remark string) {
	parts := []string{"measured below " + m.roles.pressure(m.p.SafePressure) + " and confirmed"}
	m.finish(daq.Vented, Vented, append(append(parts, nonempty(remark)...), m.vent.cautions()...))
}

// override ends the vent watch without proof, for a reason.
func (m *Machine) override(reason string) {
	if !m.venting(OverrideVented) {
		return
	}
	if reason == "" {
		m.refuse(OverrideVented, "An override needs a reason: override <reason>.")
		return
	}
	parts := []string{reason}
	for _, missing := range m.vent.missing(m.now) {
		parts = append(parts, "not shown: "+missing)
	}
	m.finish(daq.Override, Overridden, append(parts, m.vent.cautions()...))
}

// venting sees to it that the vent watch has begun: while the unit is being
// released an answer to it counts as the end of the release.
func (m *Machine) venting(kind AnswerKind) bool {
	if m.testing() {
		m.refuse(kind, "The test is running. To end it early: abort <reason>.")
		return false
	}
	if m.zero.on {
		m.refuse(kind, "The zeros are being read; it goes on by itself.")
		return false
	}
	if m.phase() == procedure.Release {
		m.next()
	}
	return true
}

// refuse records an answer that was not taken and says why.
func (m *Machine) refuse(kind AnswerKind, why string) {
	m.record(daq.Answered, "", string(kind), "not taken: "+why)
	m.do(Say{why})
}

// finish ends the run.
func (m *Machine) finish(kind daq.EventKind, state string, reasons []string) {
	m.outcome.Vented, m.outcome.Reason = state, strings.Join(reasons, "; ")
	m.record(kind, "", state, m.outcome.Reason)
	m.done = true
	m.do(Close{m.outcome})
}

// watchVent tells the operator when vented is measured, when it no longer is,
// and now and then what is missing.
func (m *Machine) watchVent() {
	measured := len(m.vent.missing(m.now)) == 0
	switch {
	case measured && !m.shown:
		m.show(VentShown, ConfirmVented, m.ventText())
	case !measured && m.shown:
		m.show(VentNotShown, ConfirmVented, "No longer measured as vented. "+m.ventText())
	case m.now-m.asked >= ventReminder:
		m.show(Reminder, ConfirmVented, m.ventText())
	}
	m.shown = measured
}

// ventText says what the vent watch waits for.
func (m *Machine) ventText() string {
	missing, cautions := m.vent.missing(m.now), m.vent.cautions()
	var parts []string
	if len(missing) > 0 {
		parts = append(parts, capital(TreatAsPressurised)+": "+strings.Join(missing, "; ")+".")
	} else {
		parts = append(parts, "Measured below "+m.roles.pressure(m.p.SafePressure)+".")
	}
	if len(cautions) > 0 {
		parts = append(parts, "Mind: "+strings.Join(cautions, "; ")+".")
	}
	if len(missing) > 0 {
		return strings.Join(append(parts, "Without measurement: override <reason>."), " ")
	}
	return strings.Join(append(parts, "Look at the unit, then confirm: vented."), " ")
}
