package sequence

import (
	"fmt"
	"slices"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
)

// Roles says which channels watch which circuit of a position, and in which
// units a person is spoken to.
type Roles struct {
	// Circuits of the position, in its order.
	Circuits []Circuit
	// Switches of the position that are shown.
	Switches []Switch
	// Outputs that the run may drive.
	Outputs []daq.Output
	// Display holds the units of prompts and of the events' texts.
	Display si.Display
}

// Circuit is one circuit and the channels that watch it.
type Circuit struct {
	Name string
	// Tested is true when the procedure tests this circuit.
	Tested bool
	// FeedUnmeasured is true when the bench declares that there is no feed
	// transducer.
	FeedUnmeasured             bool
	Trapped, Feed, Temperature Role
	// MoreTemperatures stand beside Temperature; screens show that one.
	MoreTemperatures []Role
}

// Role is one channel in its part. The zero value means that there is none.
type Role struct {
	// Name of the channel; empty when there is none.
	Name string
	// Channel is its index in the bench's list.
	Channel int
	// Interval is the nominal time between two readings.
	Interval time.Duration
}

// Exists says whether there is such a channel.
func (r Role) Exists() bool { return r.Name != "" }

// Part is what a channel does for its circuit.
type Part uint8

// The parts of channels.
const (
	Trapped Part = iota
	Feed
	Temperature
)

// String returns the part in the vocabulary of screens.
func (p Part) String() string {
	switch p {
	case Trapped:
		return "trapped pressure"
	case Feed:
		return "feed pressure"
	}
	return "temperature"
}

// role returns the circuit's channel for a part.
func (c Circuit) role(p Part) Role {
	switch p {
	case Trapped:
		return c.Trapped
	case Feed:
		return c.Feed
	}
	return c.Temperature
}

// Reading is a channel's reading, picked out for its circuit and part. Value
// is SI (pressure gauge), NaN unless healthy; Doubted is as in daq.Reading.
type Reading struct {
	// Circuit is an index in Roles.Circuits.
	Circuit int
	Part    Part
	Value   float64
	Doubted float64
	Health  daq.Health
}

// NewRoles joins a position's circuits with the bench's channels. tested
// names the circuits that the procedure tests. It returns an error when a
// tested circuit is not at the position, or a channel is not on the bench.
func NewRoles(pos bench.Position, tested []string, channels []daq.Channel, display si.Display) (Roles, error) {
	r := Roles{Display: display}
	for _, c := range pos.Circuits {
		circuit := Circuit{Name: c.Name, Tested: slices.Contains(tested, c.Name), FeedUnmeasured: c.FeedUnmeasured}
		for _, part := range []struct {
			to   *Role
			name string
		}{{&circuit.Trapped, c.Trapped}, {&circuit.Feed, c.Feed}, {&circuit.Temperature, c.Temperature}} {
			role, err := findRole(part.name, channels)
			if err != nil {
				return Roles{}, fmt.Errorf("position %q, circuit %q: %w", pos.Name, c.Name, err)
			}
			*part.to = role
		}
		for _, name := range c.MoreTemperatures {
			role, err := findRole(name, channels)
			if err != nil {
				return Roles{}, fmt.Errorf("position %q, circuit %q: %w", pos.Name, c.Name, err)
			}
			circuit.MoreTemperatures = append(circuit.MoreTemperatures, role)
		}
		r.Circuits = append(r.Circuits, circuit)
	}
	var err error
	if r.Switches, err = switches(pos, channels); err != nil {
		return Roles{}, err
	}
	for _, name := range tested {
		if !slices.ContainsFunc(r.Circuits, func(c Circuit) bool { return c.Name == name }) {
			return Roles{}, fmt.Errorf("position %q has no circuit %q, which the procedure tests", pos.Name, name)
		}
	}
	return r, nil
}

// findRole finds a channel by name; no name is no role.
func findRole(name string, channels []daq.Channel) (Role, error) {
	if name == "" {
		return Role{}, nil
	}
	for i, c := range channels {
		if c.Name == name {
			return Role{Name: name, Channel: i, Interval: c.Interval}, nil
		}
	}
	return Role{}, fmt.Errorf("no channel %q on this bench", name)
}

// Pick takes from a scan the readings that have a part. A channel that stands
// for two circuits yields two readings. The result shares no memory with the
// scan.
func (r Roles) Pick(s daq.Scan) []Reading {
	var out []Reading
	for _, reading := range s.Readings {
		for i, c := range r.Circuits {
			for _, part := range parts {
				if role := c.role(part); role.Exists() && role.Channel == reading.Channel {
					out = append(out, Reading{Circuit: i, Part: part, Value: reading.Value, Doubted: reading.Doubted, Health: reading.Health})
				}
			}
		}
	}
	return out
}
