package foreign

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"holdbench/daq/strict"
)

// Check finds settings that cannot be; file names where they were written, or
// is empty for a command line. The error joins one *strict.Error for each
// fault.
func (s Settings) Check(file string) error {
	var faults []error
	fault := func(field, found, want string) {
		faults = append(faults, &strict.Error{File: file, Field: field, Found: found, Want: want})
	}
	for _, row := range []struct {
		field, word string
		choices     []string
	}{
		{"delimiter", s.Delimiter, delimiterWords},
		{"decimal", s.Decimal, decimalWords},
		{"encoding", s.Encoding, encodingWords},
		{"time format", s.TimeFormat, formatWords},
	} {
		if row.word != "" && !slices.Contains(row.choices, row.word) {
			fault(row.field, strict.Quote(row.word), strings.Join(row.choices, ", "))
		}
	}
	if s.Zone != "" {
		if _, err := zoneNamed(file, s.Zone); err != nil {
			faults = append(faults, err)
		}
	}
	if s.HeaderLine < NoHeader || s.HeaderLine > longestHeader {
		fault("header line", strconv.Itoa(s.HeaderLine), "a line from 1 to "+strconv.Itoa(longestHeader))
	}
	if !(s.AmbientPressure >= 0 && s.AmbientPressure <= 2*standardAtmosphere) {
		fault("ambient pressure", strconv.FormatFloat(s.AmbientPressure, 'g', -1, 64)+" Pa", "that of the room, about 101325 Pa")
	}
	if !(s.AmbientPressureU >= 0 && s.AmbientPressureU <= standardAtmosphere) {
		fault("ambient pressure", strconv.FormatFloat(s.AmbientPressureU, 'g', -1, 64)+" Pa of uncertainty", "a standard uncertainty, e.g. 1.013 ± 0.003 bar")
	}
	used := map[int]Role{}
	for r, c := range s.Columns {
		if c.Unit != "" {
			if _, _, ok := parseUnit(c.Unit); !ok {
				fault(roles[r].words, "unit "+strict.Quote(c.Unit), "a unit of time, pressure or temperature, e.g. s, bar, psi, °C")
			}
		}
		if c.Number < 0 {
			fault(roles[r].words, "column "+strconv.Itoa(c.Number), "a column from 1")
		}
		if other, taken := used[c.Number]; taken && c.Name == "" && c.Number > 0 {
			fault(roles[r].words, "column "+strconv.Itoa(c.Number), "another one than that of the "+roles[other].words)
		}
		if c.Name == "" {
			used[c.Number] = Role(r)
		}
	}
	return errors.Join(faults...)
}

// ownWords are the logger's own words for no reading, in lower case.
func (s Settings) ownWords() map[string]bool {
	own := map[string]bool{}
	for _, word := range s.NoReading {
		own[strings.ToLower(strings.TrimSpace(word))] = true
	}
	return own
}
