package sequence

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// unanswered is how long an order to an output may stay without a result.
const unanswered = 5 * time.Second

// Drive wants an output switched; its daq.Driving is to come as an input.
type Drive struct {
	Output string
	On     bool
	Cause  string
}

func (Drive) action() {}

// driver is what the machine knows of the outputs.
type driver struct {
	// pumping are the pumps that it has ordered on and not off.
	pumping []string
	// waiting are the orders without a result yet, the newest of each output.
	waiting map[string]waiting
	// held is what the phase release drives at the operator's word. An Enter is
	// not enough: it may have been meant for the phase that was just aborted.
	held []procedure.Drive
}

type waiting struct {
	on   bool
	from time.Duration
}

// beginDrives drives what a phase drives when it begins.
func (m *Machine) beginDrives(step procedure.Step) {
	if step.Phase == procedure.Release {
		if len(m.outputs(step.Drive)) > 0 {
			m.drive.held = step.Drive
		}
		return
	}
	if len(m.outputs(step.Drive)) > 0 {
		m.do(Say{"The program switches now: " + driveWords(step.Drive) + "."})
	}
	m.driveAll(step.Drive, string(step.Phase)+" begins")
}

// endDrives switches the pumps off when a phase ends: those that run, and all
// where the test was aborted.
func (m *Machine) endDrives() {
	if m.outcome.Aborted && m.testing() {
		m.pumpsOff("the test is aborted", true)
		return
	}
	m.pumpsOff(string(m.phase())+" ends", false)
}

// outputs are those that drives are about.
func (m *Machine) outputs(drives []procedure.Drive) []daq.Output {
	var out []daq.Output
	for _, o := range m.roles.Outputs {
		if slices.ContainsFunc(drives, func(d procedure.Drive) bool { return d.Role == o.Role }) {
			out = append(out, o)
		}
	}
	return out
}

// driveAll drives every output of each role. A pump is not switched on unless
// every tested circuit's pressure is seen.
func (m *Machine) driveAll(drives []procedure.Drive, cause string) {
	for _, d := range drives {
		for _, o := range m.roles.Outputs {
			if o.Role != d.Role {
				continue
			}
			if unseen := m.unseen(); d.On && o.Role == daq.Pump && unseen != "" {
				m.trip("", "output "+o.Name, unseen+", so the pump is not switched on")
				return
			}
			m.order(o, d.On, cause)
		}
	}
}

// order wants one output switched.
func (m *Machine) order(o daq.Output, on bool, cause string) {
	if o.Role == daq.Pump {
		m.drive.pumping = slices.DeleteFunc(m.drive.pumping, func(name string) bool { return name == o.Name })
		if on {
			m.drive.pumping = append(m.drive.pumping, o.Name)
		}
	}
	m.drive.waiting[o.Name] = waiting{on, m.now}
	m.do(Drive{Output: o.Name, On: on, Cause: cause})
}

// pumpsOff switches off the pumps that run; all of them where every is true.
func (m *Machine) pumpsOff(cause string, every bool) {
	for _, o := range m.roles.Outputs {
		if o.Role == daq.Pump && (every || slices.Contains(m.drive.pumping, o.Name)) {
			m.order(o, false, cause)
		}
	}
}

// unseen names a tested circuit whose trapped pressure is not seen now; empty
// where all are.
func (m *Machine) unseen() string {
	for i, c := range m.roles.Circuits {
		if c.Tested && !m.newest[i][Trapped].seen(m.now) {
			return fmt.Sprintf("no fresh reading of the trapped pressure %s", c.Name)
		}
	}
	return ""
}

// watchOutputs looks after pumps that run and orders without a result.
func (m *Machine) watchOutputs() {
	for _, o := range m.roles.Outputs {
		if w, ok := m.drive.waiting[o.Name]; ok && m.now-w.from >= unanswered {
			m.undriven(o, w.on, fmt.Sprintf("no result for %.0f s", unanswered.Seconds()))
		}
	}
	if len(m.drive.pumping) == 0 || !m.testing() {
		return
	}
	step := m.steps[m.at]
	switch unseen := m.unseen(); {
	case unseen != "":
		m.trip("", "pump", unseen+" while the pump runs")
	case m.pumpedUp():
		m.pumpsOff("the test pressure is reached", false)
	case step.ByOperator && step.Timeout > 0 && m.now-m.entered >= step.Timeout:
		m.pumpsOff("time-out of "+string(step.Phase), false)
		m.do(Say{"The pump is switched off: the time-out of " + string(step.Phase) + " has passed."})
	}
}

// pumpedUp says whether every tested circuit has the test pressure, or one of
// them as much as the start window allows.
func (m *Machine) pumpedUp() bool {
	all := true
	for i, c := range m.roles.Circuits {
		if !c.Tested {
			continue
		}
		p := m.value(i, Trapped)
		if p >= m.p.StartHigh {
			return true
		}
		all = all && p >= m.p.TestPressure
	}
	return all
}

// driven takes what became of an output.
func (m *Machine) driven(d daq.Driving) {
	if !slices.Contains(m.roles.Outputs, d.Output) || errors.Is(d.Err, daq.ErrRevoked) {
		return
	}
	if w, ok := m.drive.waiting[d.Output.Name]; ok && !d.Safe && w.on == d.On {
		delete(m.drive.waiting, d.Output.Name)
	}
	switch {
	case d.Err != nil:
		m.undriven(d.Output, d.On, d.Err.Error())
	case d.Safe && slices.Contains(m.drive.pumping, d.Output.Name):
		m.trip("", "output "+d.Output.Name, "switched off: "+d.Cause)
	}
}

// undriven tells the operator that an output may not be as it should, and
// aborts the test.
func (m *Machine) undriven(o daq.Output, on bool, why string) {
	delete(m.drive.waiting, o.Name)
	word := "off"
	if on {
		word = "on"
	}
	text := fmt.Sprintf("not confirmed as switched %s: %s", word, why)
	m.record(daq.Fault, "", "output "+o.Name, text)
	say := "Output " + o.Name + " is " + text + "."
	if o.Role == daq.Pump {
		say += " See that the pump is off; if it runs, switch it off by hand."
	}
	m.do(Say{say})
	if m.testing() {
		m.abort("output "+o.Name, text)
	}
}

// heldText asks for the Enter that drives what the phase release drives.
func (m *Machine) heldText() string {
	return "Wear eye protection, stand clear of hoses and fittings, and see where the oil will go. Then type drive, which switches: " +
		driveWords(m.drive.held) + ". To release by hand instead, do so and press Enter. Treat the unit as pressurised until vented is shown."
}

// driveWords are drives in words: "lock off, vent on".
func driveWords(drives []procedure.Drive) string {
	var each []string
	for _, d := range drives {
		each = append(each, d.String())
	}
	return strings.Join(each, ", ")
}

// driveHeld drives what was held.
func (m *Machine) driveHeld() {
	held := m.drive.held
	switch {
	case m.testing():
		m.refuse(DriveOutputs, "The test is running; its phases drive what they drive by themselves.")
		return
	case len(held) == 0:
		m.refuse(DriveOutputs, "There is nothing left to drive.")
		return
	}
	m.drive.held = nil
	m.record(daq.Answered, "", string(DriveOutputs), "")
	m.driveAll(held, "the operator's word")
	if m.phase() == procedure.Release {
		m.show(Switched, GoOn, m.promptText(m.steps[m.at]))
	}
}
