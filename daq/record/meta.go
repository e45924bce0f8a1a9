package record

import (
	"time"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// Meta is what a recording says of itself, kept in datapackage.json.
type Meta struct {
	RunID        string
	SerialNumber string
	Model        string
	Operator     string
	Position     string
	// Started is the calendar instant of clock time 0.
	Started time.Time
	// ClockKind is "wall" or "lock-step".
	ClockKind string
	// Program is the program's version.
	Program string
	// Note is free text, e.g. "invented demo data".
	Note string

	// Bench, Procedure and Characterisation as used, word for word.
	Bench, Procedure, Characterisation SourceFile
	// Fluids is the bench's file of own liquids; the zero value where it has
	// none.
	Fluids SourceFile

	Channels []daq.Channel

	// Challenge is the known leak that was imposed on the unit; nil for a test
	// of the unit.
	Challenge *Challenge
	// Overdue is why the run was made with a calibration that was overdue; nil
	// where none was.
	Overdue *Overdue
	// Comparison is what a channel was compared with; nil for a test of a unit.
	Comparison *Comparison
}

// Comparison says which channel was compared with which reference.
type Comparison struct {
	Channel string `json:"channel"`
	// ReferenceChannel is the channel that showed the reference; empty where a
	// person read it. Reference says in words what it was.
	ReferenceChannel string `json:"reference_channel,omitempty"`
	Reference        string `json:"reference"`
	// Certificate, Due (a day, 2006-01-02) and Fit are those asked for then.
	Certificate string `json:"certificate"`
	Due         string `json:"due"`
	Fit         string `json:"fit"`
}

// Overdue is an engineer's word that a run may be made although calibrations
// are overdue.
type Overdue struct{ Reason, By string }

// Challenge says which leak was imposed on one circuit to hold the bench to
// it.
type Challenge struct {
	// Code names the leak on a list that the operator does not see.
	Code    string
	Circuit string
	// Known is the imposed leak, Own the unit's without it.
	Known, Own Leak
}

// Leak is a leak with its standard uncertainty (k = 1), SI of Quantity, which
// is a pressure rate or a volume flow.
type Leak struct {
	Value, U float64
	Quantity si.Quantity
	// Written is the figure as it was given, Source where it comes from.
	Written, Source string
}

// SourceFile is a file that a run used, word for word.
type SourceFile struct {
	Name string // base name or path as given
	Hash string // "sha256:…"
	Text string
}
