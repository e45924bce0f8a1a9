package sequence

import (
	"fmt"

	"holdbench/daq"
	"holdbench/daq/bench"
)

// Switch is a digital input that is shown during a run.
type Switch struct {
	// Name says what it is: "warning switch a", "pump".
	Name string
	Role Role
}

// SwitchState is what was read of a switch, by its index in Roles.Switches.
type SwitchState struct {
	Switch  int
	On      bool
	Healthy bool
}

// SwitchStatus is how a switch stands.
type SwitchStatus struct {
	Name string
	// Known is false where there is no healthy reading; On says nothing then.
	Known, On bool
}

// switches are those of a position.
func switches(pos bench.Position, channels []daq.Channel) ([]Switch, error) {
	var out []Switch
	add := func(name, channel string) error {
		role, err := findRole(channel, channels)
		if err != nil {
			return fmt.Errorf("position %q, %s: %w", pos.Name, name, err)
		}
		if role.Exists() {
			out = append(out, Switch{name, role})
		}
		return nil
	}
	for _, c := range pos.Circuits {
		if err := add("warning switch "+c.Name, c.WarningSwitch); err != nil {
			return nil, err
		}
	}
	return out, add("pump", pos.PumpState)
}

// PickSwitches takes from a scan the states of switches.
func (r Roles) PickSwitches(s daq.Scan) []SwitchState {
	var out []SwitchState
	for _, reading := range s.Readings {
		for i, w := range r.Switches {
			if w.Role.Channel == reading.Channel {
				out = append(out, SwitchState{Switch: i, On: reading.Value == 1, Healthy: reading.Health == daq.Healthy})
			}
		}
	}
	return out
}
