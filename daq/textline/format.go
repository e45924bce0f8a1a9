package textline

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// Format says how a line is built: prefix, fields, check, suffix.
type Format struct {
	// Separator parts columns; a blank stands for any run of white space.
	// Empty: the whole text is one column. A decimal comma is understood
	// unless it has a comma in it.
	Separator string
	// Prefix and Suffix stand at the ends of every line and are taken off.
	Prefix, Suffix string
	// Comment are the beginnings of lines that are passed over.
	Comment []string
	// Length is how many characters every line has, its end not counted; 0
	// where they vary.
	Length int
	// Check is the check that every line carries, if any.
	Check Check
}

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

// What a line can be but a reading.
var (
	// errPassedOver: a comment, a header or a banner.
	errPassedOver = errors.New("not a reading, passed over")
	// errBlock: a block of data.
	errBlock = errors.New("a block of data (IEEE 488.2), not a text: have the instrument send text (ASCII)")
)

// taken is what was read of one line.
type taken struct {
	width  int      // columns; 0 where none are counted
	values []number // of the fields
}

// Read fills dst, one signal a field. The error says why the line is no
// reading. len(dst) == len(fields). What earlier lines looked like is not
// considered.
func (f Format) Read(line string, fields []Field, dst []daq.Signal) error {
	_, err := f.read(line, fields, dst)
	return err
}

func (f Format) read(line string, fields []Field, dst []daq.Signal) (taken, error) {
	for _, c := range f.Comment {
		if strings.HasPrefix(strings.TrimLeft(line, "\r\n "), c) {
			return taken{}, errPassedOver
		}
	}
	text, err := f.text(line)
	if err != nil {
		if f.wordy(line, fields) {
			return taken{}, errPassedOver
		}
		return taken{}, err
	}
	if len(text) > 1 && text[0] == '#' && text[1] >= '0' && text[1] <= '9' {
		return taken{}, errBlock
	}
	t, err := f.fields(text, fields, dst)
	if err != nil && f.wordy(line, fields) {
		return taken{}, errPassedOver
	}
	return t, err
}

// text takes off what stands around the fields, and checks it.
func (f Format) text(line string) (string, error) {
	line = strings.TrimLeft(line, "\r\n\x00")
	if f.Check.Form != Bytes {
		line = strings.TrimRight(line, "\r\n\x00")
	}
	if n := length(line); f.Length > 0 && n != f.Length {
		return "", fmt.Errorf("%d characters, want %d", n, f.Length)
	}
	text, ok := strings.CutPrefix(line, f.Prefix)
	if !ok {
		return "", fmt.Errorf("it does not begin with %q", f.Prefix)
	}
	if text, ok = strings.CutSuffix(text, f.Suffix); !ok {
		return "", fmt.Errorf("it does not end with %q", f.Suffix)
	}
	if f.Prefix != "" && strings.Contains(text, f.Prefix) && strings.Trim(f.Prefix, "+-0123456789.,; \t") != "" && f.Check.none() {
		return "", fmt.Errorf("%q stands in it twice", f.Prefix)
	}
	if !f.Check.none() {
		var err error
		if text, err = f.Check.take(f.Prefix, text); err != nil {
			return "", err
		}
	}
	return decoded(text), nil
}

// decoded is a text as characters: UTF-8, or else one byte a character as in
// ISO 8859-1, so that a degree sign is one either way.
func decoded(text string) string {
	if utf8.ValidString(text) {
		return text
	}
	runes := make([]rune, len(text))
	for i := range len(text) {
		runes[i] = rune(text[i])
	}
	return string(runes)
}

func length(text string) int { return utf8.RuneCountInString(decoded(text)) }

// columns cuts a text into columns. Where a blank is the separator, any run
// of white space parts two columns.
func (f Format) columns(text string) []string {
	switch f.Separator {
	case "":
		return []string{text}
	case " ":
		return strings.Fields(text)
	}
	return strings.Split(text, f.Separator)
}

// comma says whether a decimal comma is understood.
func (f Format) comma() bool { return !strings.Contains(f.Separator, ",") }

func (f Format) fields(text string, fields []Field, dst []daq.Signal) (taken, error) {
	t := taken{values: make([]number, len(fields))}
	cut := f.columns(text)
	if f.Separator != "" {
		t.width = len(cut)
	}
	for k, field := range fields {
		raw, err := field.find(text, cut)
		if err != nil {
			return t, err
		}
		if t.values[k], err = field.value(strings.TrimSpace(raw), f.comma()); err != nil {
			return t, err
		}
		signal, ok := field.inUnit(t.values[k].signal, t.values[k].unit)
		if !ok {
			return t, fmt.Errorf("%q is no unit", t.values[k].unit)
		}
		if signal, err = field.besides(signal, t.values[k], cut, fields); err != nil {
			return t, err
		}
		dst[k] = signal
	}
	return t, nil
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

// wordy says of a line that is no reading whether it is a header or a banner:
// printable, of words, and nothing like a number where numbers should be.
func (f Format) wordy(line string, fields []Field) bool {
	line = decoded(strings.Trim(line, "\r\n\x00 "))
	letters := 0
	for _, r := range line {
		if r < ' ' && r != '\t' || r >= 0x7f && !letter(r) && !strings.ContainsRune("°²³", r) {
			return false
		}
		if letter(r) {
			letters++
		}
	}
	if letters < 3 || 2*letters < len([]rune(line)) {
		return false
	}
	cut := f.columns(line)
	for _, field := range fields {
		if field.Column == 0 || field.Column > len(cut) {
			continue
		}
		text := strings.Trim(cut[field.Column-1], " \t\"")
		if text == "" || !letter([]rune(text)[0]) {
			return false
		}
		if _, known := parseNumber(text, f.comma()); known {
			return false
		}
	}
	return !strings.ContainsAny(line[:1], "+-0123456789.,")
}

// Number writes a number as an instrument of that many decimals does.
func Number(x float64, decimals int) string { return strconv.FormatFloat(x, 'f', decimals, 64) }
