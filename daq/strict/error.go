// Package strict knows how files and texts that people write are read: every
// fault is named with its file, line and key, what was found and what would
// be right, and all faults of a file come at once. It knows TOML and written
// quantities; it knows nothing of benches or procedures.
//
// A reader asks a Table for its keys one by one; what nobody asked for is an
// unknown key. Faults are collected on the way, so that the reader carries on
// with zero values and the person who wrote the file sees everything that is
// wrong with it in one go. Nothing that was read may be used before Err has
// said that there are none.
package strict

import (
	"strconv"
	"strings"
)

// Error is one fault in what a person gave: in a file, an option, a serial
// number. Its text is one line:
//
//	bench.toml:14: channel "feed": range: found 400, want a pressure with unit, e.g. "400 bar"
type Error struct {
	// File as given; empty where the text came from elsewhere.
	File string
	// Line counts from 1; 0 where there is none to name.
	Line int
	// Field is the place in words, outermost first: `channel "feed": range`.
	Field string
	// Found and Want say what stands there and what would be right.
	Found, Want string
	// Cause is the system's error where a file could not be read; nil
	// otherwise.
	Cause error
}

// Error returns the fault in one line.
func (e *Error) Error() string {
	var b strings.Builder
	if e.File != "" {
		b.WriteString(e.File)
		if e.Line > 0 {
			b.WriteString(":" + strconv.Itoa(e.Line))
		}
		b.WriteString(": ")
	}
	if e.Field != "" {
		b.WriteString(e.Field + ": ")
	}
	b.WriteString("found " + e.Found)
	if e.Want != "" {
		b.WriteString(", want " + e.Want)
	}
	return b.String()
}

// Unwrap returns the system's error behind the fault, if any, so that
// errors.Is(err, fs.ErrNotExist) works.
func (e *Error) Unwrap() error { return e.Cause }
