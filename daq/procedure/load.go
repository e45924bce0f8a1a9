package procedure

import "holdbench/daq/strict"

// Load reads a procedure file. Faults in it are *strict.Error values, all at
// once.
func Load(path string) (*Procedure, error) {
	text, err := strict.ReadFile(path, "a procedure file")
	if err != nil {
		return nil, err
	}
	return Parse(path, text)
}

// CheckSerial checks a serial number as it came from a scanner or keyboard:
// one line of printable text that matches the procedure's pattern as a whole.
// The error is a *strict.Error.
func (p *Procedure) CheckSerial(serial string) error {
	return strict.CheckSerial(serial, p.SerialPattern)
}
