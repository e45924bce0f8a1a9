package foreign

import (
	"bytes"
	"math"
	"slices"
	"strconv"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// standardAtmosphere is taken off absolute pressures when the room's pressure
// is not known, Pa.
//
// Source: CGPM 1954, resolution 4, exact (mark M).
const standardAtmosphere = 101325

// standardAtmosphereU is the standard uncertainty with which it stands for a
// room's: weather and some hundred metres of height, Pa.
//
// Source: common practice (mark P).
const standardAtmosphereU = 3000

// Bounds against slips of a unit or a mark (own): no hold has pressures or
// temperatures beyond them.
const (
	highestPressure    = 1e9  // Pa
	highestTemperature = 2000 // K
)

// value is one column of figures: SI = x·factor + offset.
type value struct {
	role           Role
	column         int // index in the file
	heading, title string
	unit           si.Unit
	factor, offset float64
	// air is the standard uncertainty of the air pressure that was taken off,
	// Pa.
	air float64
}

// layout is all that is needed to read the rows.
type layout struct {
	*table
	settings Settings // resolved
	timeCol  int
	dateCol  int // -1 where there is none
	values   []value
	mark     byte // decimal
	clock    clock
	zone     *time.Location
	usual    int64 // usual step of time in the head, ns; 0 unknown
	notes    []string
}

// Cells that the rows' reader does not look at, and those of time and date; a
// value's place in layout.values counts from firstValue.
const (
	skipped = iota
	aTime
	aDate
	firstValue
)

// layout finds out how the file's rows are read.
func (h *head) layout(s Settings) (*layout, error) {
	t, err := h.table(s)
	if err != nil {
		return nil, err
	}
	f, err := t.findColumns(s)
	if err != nil {
		return nil, err
	}
	l := &layout{table: t, settings: s, timeCol: f.chosen[Time], dateCol: f.chosen[Date]}
	if l.zone, err = zoneNamed(h.name, s.Zone); err != nil {
		return nil, err
	}
	if err := l.takeValues(f); err != nil {
		return nil, err
	}
	word := ""
	if l.mark, word, err = t.findMark(s, l.impossible); err != nil {
		return nil, err
	}
	if err := l.setClock(); err != nil {
		return nil, err
	}
	l.resolve(f, word)
	l.usual = l.usualStep()
	return l, nil
}

// takeValues takes the columns that have a role, with their units.
func (l *layout) takeValues(f *finder) error {
	for r := TrappedA; r < Roles; r++ {
		k := f.chosen[r]
		if k < 0 {
			continue
		}
		v := value{role: r, column: k, heading: l.headings[k].full, title: f.title(k)}
		written := l.settings.Columns[r].Unit
		if written == "" {
			written = l.headings[k].unit
		}
		unit, ref, ok := parseUnit(written)
		if !ok || unit.Quantity != roles[r].quantity {
			found := "no unit"
			if written != "" {
				found = "unit " + strict.Quote(written)
			}
			_, err := si.ParseUnit(written, roles[r].quantity)
			return f.headerFault("column "+v.title, found, l.wantUnit(f, r, err))
		}
		if own, _, known := parseUnit(l.headings[k].unit); known && own.Symbol != unit.Symbol {
			l.note("column %s: read in %s as the settings say", v.title, unit.Symbol)
		}
		v.unit, v.factor, v.offset = unit, unit.Factor, unit.Offset
		l.takeReference(&v, ref)
		l.values = append(l.values, v)
	}
	return nil
}

// wantUnit says how the unit of a column is given.
func (l *layout) wantUnit(f *finder, r Role, _ error) string {
	unit, what := "bar", "a pressure, e.g. bar, psi, kPa, MPa"
	if roles[r].quantity == si.Temperature {
		unit, what = "°C", "a temperature: °C, °F, K"
	}
	return "the unit of " + what + "; say it with " + r.optionFor(f.reference(f.chosen[r]), unit)
}

// takeReference takes the pressure of the room off an absolute pressure. What
// a column says of itself goes before the settings.
func (l *layout) takeReference(v *value, ref reference) {
	if v.unit.Quantity != si.Pressure {
		return
	}
	mean := l.headings[v.column].mean
	switch {
	case ref == unsaid && mean.has(saysAbsolute):
		ref = absolute
	case ref == unsaid && mean.has(saysGauge):
		ref = gauge
	case ref == unsaid && l.settings.Absolute:
		ref = absolute
	}
	if ref != absolute {
		return
	}
	room := l.settings.AmbientPressure
	known := "as given"
	v.air = l.settings.AmbientPressureU
	if room == 0 {
		room, known = standardAtmosphere, "the standard atmosphere; say --ambient-pressure if it is known"
		v.air = standardAtmosphereU
	}
	v.offset -= room
	l.note("column %s is absolute pressure: %s bar taken off (%s)", v.title, strconv.FormatFloat(room/1e5, 'f', -1, 64), known)
}

// impossible reports whether a mark, taken as one of thousands, would give a
// pressure or temperature that nothing has.
func (l *layout) impossible(mark byte) bool {
	for _, r := range l.sample() {
		cells := l.splitRow(r)
		for _, v := range l.values {
			if v.column >= len(cells) || !grouped(cells[v.column], mark) {
				continue
			}
			x, ok := parseNumber(bytes.ReplaceAll(cells[v.column], []byte{mark}, nil), '.')
			if ok && (v.unit.Quantity == si.Pressure && math.Abs(v.unit.ToSI(x)) > highestPressure ||
				v.unit.Quantity == si.Temperature && v.unit.ToSI(x) > highestTemperature) {
				return true
			}
		}
	}
	return false
}

// splitRow is a record's cells; nil if it is no row.
func (l *layout) splitRow(r headLine) [][]byte {
	cells := splitCells(nil, r.text, l.delimiter)
	if len(cells) < l.width {
		return nil
	}
	return cells
}

// resolve notes what was found out, so that another file of the same logger
// needs no looking.
func (l *layout) resolve(f *finder, decimal string) {
	s := &l.settings
	for r, k := range f.chosen {
		if k < 0 {
			continue
		}
		// A unit that the header has is left to it, lest the next file's differ.
		c := Column{Name: l.headings[k].name, Unit: s.Columns[r].Unit}
		if !f.unique(k) || ParseColumn(c.Name) != (Column{Name: c.Name}) || c.Name == None || c.Name == "" {
			c.Name, c.Number = "", k+1
		}
		s.Columns[r] = c
	}
	s.Encoding = string(l.head.enc)
	s.Decimal = decimal
	for word, mark := range delimiters {
		if mark == l.delimiter {
			s.Delimiter = word
		}
	}
	if l.header < 0 {
		s.HeaderLine = NoHeader
	}
	l.noteColumns(f)
}

// noteColumns says which columns are read as what, and which are not.
func (l *layout) noteColumns(f *finder) {
	if l.header >= 0 && l.records[l.header].line > 1 {
		l.note("%s before the header in line %d", plural(l.records[l.header].line-1, "line"), l.records[l.header].line)
	}
	if l.units >= 0 {
		l.note("units from line %d", l.records[l.units].line)
	}
	unused := f.list(func(k int) bool {
		return k < f.width && !slices.Contains(f.chosen[:], k) && (f.headings[k].full != "" || f.mostly(k) != isBlank)
	})
	if unused != "" {
		l.note("columns not used: %s", unused)
	}
}

// zoneNamed is the time zone of stamps that name none.
func zoneNamed(file, name string) (*time.Location, error) {
	if name == "" {
		return time.UTC, nil
	}
	if offset, ok := zoneOffset([]byte(name)); ok {
		return time.FixedZone("", int(offset/second)), nil
	}
	zone, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		return nil, &strict.Error{File: file, Field: "time zone", Found: strict.Quote(name), Want: `an offset or a name that this machine knows, e.g. "+01:00" or "Europe/Berlin"`}
	}
	return zone, nil
}
