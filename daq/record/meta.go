package record

import (
	"time"

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
}

// SourceFile is a file that a run used, word for word.
type SourceFile struct {
	Name string // base name or path as given
	Hash string // "sha256:…"
	Text string
}
