package textline

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// Field says where in a line a number, or a word for on or off, stands.
// Exactly one of Column, From, Name and Pattern is set.
type Field struct {
	// Column counts from 1.
	Column int
	// From and To are the first and the last character of the text, counted
	// from 1, the line's prefix not counted.
	From, To int
	// Name is that of a column "name=number", "name: number" or "name number".
	Name string
	// Pattern has one group, the number, and fits a line in one place.
	Pattern *regexp.Regexp

	// Unit is that in which the signal is wanted. A number in another unit of
	// the same quantity is converted to it; in one of another quantity it is
	// Invalid. Without Unit any unit makes it so.
	Unit si.Unit
	// Written is what the instrument writes for Unit, where that is a word of
	// its own; nothing else then makes a number valid but Unit itself.
	Written string
	// UnitColumn is the column in which the unit stands, and must; 0 for none.
	// Where it is 0, a unit of Unit's quantity in the column behind the number
	// is heeded nevertheless.
	UnitColumn int
	// Scaled says that the signal is scaled afterwards, so that a number which
	// names its unit cannot be what the file means.
	Scaled bool
	// Decimals is how many digits the instrument sends behind the point,
	// always; nil where that is not known.
	Decimals *int

	// On and Off are the words, or numbers, of a state: the signal is 1 or 0.
	// Anything else is no state. Both empty: a number is wanted.
	On, Off string
}

// find returns the field's text as it stands.
func (f Field) find(text string, cut []string) (string, error) {
	switch {
	case f.Pattern != nil:
		all := f.Pattern.FindAllStringSubmatch(text, 2)
		if len(all) != 1 || len(all[0]) < 2 {
			return "", fmt.Errorf("the pattern fits it %d times, not once", len(all))
		}
		return all[0][1], nil
	case f.From > 0:
		runes := []rune(text)
		if len(runes) < f.To {
			return "", fmt.Errorf("%d characters, and the field reaches to %d", len(runes), f.To)
		}
		return string(runes[f.From-1 : f.To]), nil
	case f.Name != "":
		return f.named(cut)
	case f.Column > len(cut):
		return "", fmt.Errorf("%d columns, and %d is wanted", len(cut), f.Column)
	}
	return cut[f.Column-1], nil
}

// named finds "name=text" among the columns; it must stand there once.
func (f Field) named(cut []string) (string, error) {
	found, times := "", 0
	for _, c := range cut {
		rest, ok := strings.CutPrefix(strings.TrimSpace(c), f.Name)
		if !ok {
			continue
		}
		trimmed := strings.TrimLeft(rest, " \t")
		switch {
		case trimmed != "" && (trimmed[0] == '=' || trimmed[0] == ':'):
			found = trimmed[1:]
		case trimmed != rest:
			found = trimmed
		default: // another, longer name
			continue
		}
		times++
	}
	if times != 1 {
		return "", fmt.Errorf("%q stands in it %d times, not once", f.Name, times)
	}
	return found, nil
}

// value reads the field's text: a state, or a number or a word for none.
func (f Field) value(text string, comma bool) (number, error) {
	if f.On != "" || f.Off != "" {
		return f.state(text, comma)
	}
	n, ok := parseNumber(text, comma)
	if !ok {
		return n, fmt.Errorf("%q is no number", text)
	}
	if f.Decimals != nil && n.isNumber && max(0, n.decimals) != *f.Decimals {
		return n, fmt.Errorf("%q has %d decimals, want %d", text, max(0, n.decimals), *f.Decimals)
	}
	return n, nil
}

// state reads a word or number of on or off.
func (f Field) state(text string, comma bool) (number, error) {
	same := func(word string) bool {
		if strings.EqualFold(text, word) {
			return true
		}
		a, okA := parseNumber(text, comma)
		b, okB := parseNumber(word, false)
		return okA && okB && a.isNumber && b.isNumber && a.unit == "" && a.signal.Raw == b.signal.Raw
	}
	switch {
	case f.On != "" && same(f.On):
		return number{signal: daq.Signal{Raw: 1}}, nil
	case f.Off != "" && same(f.Off):
		return number{signal: daq.Signal{Raw: 0}}, nil
	}
	return number{}, fmt.Errorf("%q is neither %q nor %q", text, f.On, f.Off)
}

// besides heeds the unit in a column of its own.
func (f Field) besides(s daq.Signal, n number, cut []string, fields []Field) (daq.Signal, error) {
	if f.UnitColumn > 0 {
		if f.UnitColumn > len(cut) {
			return s, fmt.Errorf("%d columns, and the unit stands in %d", len(cut), f.UnitColumn)
		}
		unit := strings.TrimSpace(cut[f.UnitColumn-1])
		if unit == "" && n.isNumber {
			return daq.Signal{Raw: math.NaN(), Health: daq.Invalid}, nil
		}
		s, ok := f.inUnit(s, unit)
		if !ok {
			return s, fmt.Errorf("%q is no unit", unit)
		}
		return s, nil
	}
	if f.Column == 0 || f.Column >= len(cut) || n.unit != "" || !n.isNumber || f.Unit.Symbol == "" {
		return s, nil
	}
	for _, other := range fields {
		if other.Column == f.Column+1 {
			return s, nil
		}
	}
	unit := strings.TrimSpace(cut[f.Column])
	if unit == "" {
		return s, nil
	}
	if _, err := si.ParseUnit(unit, f.Unit.Quantity); err != nil {
		return s, nil // something else that stands there
	}
	s, _ = f.inUnit(s, unit)
	return s, nil
}

// inUnit turns a number with a unit behind it into the field's unit: as it is
// when it has the unit, converted from another unit of the same quantity. A
// unit of another quantity, or any but the field's own where the number is
// scaled afterwards, makes the signal Invalid. ok is false when the text is no
// unit at all.
func (f Field) inUnit(s daq.Signal, text string) (out daq.Signal, ok bool) {
	if text == "" || text == f.Written && f.Written != "" {
		return s, true
	}
	invalid := daq.Signal{Raw: math.NaN(), Health: daq.Invalid}
	u, err := si.ParseUnit(text, f.Unit.Quantity)
	if f.Unit.Symbol == "" || err != nil {
		return invalid, len(si.ParseAnyUnit(text)) > 0
	}
	if u.Factor == f.Unit.Factor && u.Offset == f.Unit.Offset && !f.Scaled {
		return s, true
	}
	if f.Scaled || f.Written != "" {
		return invalid, true
	}
	if s.Health == daq.Healthy {
		s.Raw = f.Unit.FromSI(u.ToSI(s.Raw))
	}
	return s, true
}
