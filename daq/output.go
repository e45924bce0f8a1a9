package daq

import "context"

// Driver is an instrument that can switch outputs.
type Driver interface {
	// Drive switches one output, counted from 0 in the instrument's list of
	// outputs in bench order, and returns when the instrument has confirmed it.
	// An error means that it is not known whether the output was switched.
	Drive(ctx context.Context, output int, on bool) error
}

// Role is what an output does on the bench.
type Role string

// The roles of outputs. The safe state is every pump off and nothing opened.
const (
	Pump Role = "pump"
	Lock Role = "lock"
	Vent Role = "vent"
)

// Roles are all of them.
var Roles = []Role{Pump, Lock, Vent}

// Output is something that an instrument can switch.
type Output struct {
	// Name is unique in a bench, e.g. "pump".
	Name string
	Role Role
}
