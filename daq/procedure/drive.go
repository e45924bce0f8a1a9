package procedure

import (
	"slices"
	"strings"

	"holdbench/daq"
	"holdbench/daq/strict"
)

// Drive is what a phase switches when it begins: every output of a role that
// serves the position. In the phase release it waits for the operator's
// word, since a valve never opens by itself. A pump is switched off when its phase
// ends, when the test pressure is reached and after the phase's time-out;
// everything else stays as it was driven.
type Drive struct {
	Role daq.Role
	On   bool
}

// String is "pump on", as written.
func (d Drive) String() string {
	if d.On {
		return string(d.Role) + " on"
	}
	return string(d.Role) + " off"
}

// Drives are the roles of the outputs that the procedure drives, each once.
func (p *Procedure) Drives() []daq.Role {
	var out []daq.Role
	for _, s := range p.Steps {
		for _, d := range s.Drive {
			if !slices.Contains(out, d.Role) {
				out = append(out, d.Role)
			}
		}
	}
	return out
}

const driveWanted = `what to switch, e.g. drive = ["pump on"]; a role (pump, lock, vent) and on or off`

// drives reads a phase's drive; s is its step, with end and time-out read.
func drives(k strict.Key, row phaseRow, s Step) []Drive {
	if !k.Given() {
		return nil
	}
	if row.phase == Stabilise || row.phase == Hold {
		k.Refuse("nothing is switched while the unit settles or holds")
		return nil
	}
	var out []Drive
	for _, e := range k.List(driveWanted, 1) {
		text := e.Text()
		role, state, _ := strings.Cut(text, " ")
		d := Drive{Role: daq.Role(role), On: state == "on"}
		switch {
		case text == "":
		case !slices.Contains(daq.Roles, d.Role) || state != "on" && state != "off":
			e.Fault(strict.Quote(text), driveWanted)
		case slices.ContainsFunc(out, func(o Drive) bool { return o.Role == d.Role }):
			e.Fault(strict.Quote(text)+", after another of the same role", "each role once in a phase")
		case d.Role == daq.Pump && d.On && row.phase == Release:
			e.Fault(strict.Quote(text), "no pump while the pressure is released")
		case d.Role == daq.Pump && d.On && s.ByOperator && s.Timeout == 0:
			e.Fault(strict.Quote(text), `a timeout beside it, e.g. timeout = "60 s": after it the pump is switched off`)
		default:
			out = append(out, d)
		}
	}
	return out
}
