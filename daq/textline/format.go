package textline

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

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
