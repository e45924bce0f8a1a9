package bench

import (
	"slices"

	"holdbench/daq"
	"holdbench/daq/strict"
)

// drive gives a source the driver of its outputs, if the bench file says
// outputs = true; without it nothing is ever written to an instrument.
func (b *Bench) drive(s *daq.Source, k kind, w *wire, in Instrument) {
	if !b.DrivesOutputs || k.drive == nil {
		return
	}
	var outputs []Output
	for _, o := range b.Outputs {
		if o.Instrument == in.Name {
			outputs = append(outputs, o)
			s.Outputs = append(s.Outputs, daq.Output{Name: o.Name, Role: o.Role})
		}
	}
	if len(outputs) > 0 {
		s.Driver = k.drive(s, w, in, outputs)
	}
}

// Driven are the outputs that a test at a position may drive; none unless the
// bench file says outputs = true.
func (b *Bench) Driven(position string) []daq.Output {
	if !b.DrivesOutputs {
		return nil
	}
	var out []daq.Output
	for _, o := range b.Outputs {
		if o.Position == "" || o.Position == position {
			out = append(out, daq.Output{Name: o.Name, Role: o.Role})
		}
	}
	return out
}

// Drives reports whether a test at a position can drive outputs of these roles.
// The error joins one *strict.Error for each thing that is missing.
func (b *Bench) Drives(position string, roles []daq.Role) error {
	var faults strict.Faults
	if len(roles) > 0 && !b.DrivesOutputs {
		faults.Add(&strict.Error{File: b.Path, Field: "outputs", Found: "nothing or false",
			Want: "outputs = true, as the procedure drives " + string(roles[0]) + "; or a procedure that leaves it to the operator"})
		return faults.Err()
	}
	for _, role := range roles {
		if !slices.ContainsFunc(b.Driven(position), func(o daq.Output) bool { return o.Role == role }) {
			faults.Add(&strict.Error{File: b.Path, Field: "position " + strict.Quote(position), Found: "no output of role " + strict.Quote(string(role)),
				Want: "an [[output]] for it, as the procedure drives it"})
		}
	}
	return faults.Err()
}

// Unwatched are the instruments that have outputs but no communication watchdog
// of their own stated: when the program is killed, nothing would switch their
// outputs off. None unless the bench file says outputs = true.
func (b *Bench) Unwatched() []Instrument {
	var out []Instrument
	for _, in := range b.Instruments {
		has := slices.ContainsFunc(b.Outputs, func(o Output) bool { return o.Instrument == in.Name })
		if b.DrivesOutputs && has && in.Watchdog == 0 {
			out = append(out, in)
		}
	}
	return out
}
