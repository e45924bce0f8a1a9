package bench

import (
	"regexp"
	"strconv"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
	"holdbench/daq/textline"
)

// Text says how a text instrument's lines are built, beyond their separator.
// Characters that cannot be printed are as such, not as the file writes them.
type Text struct {
	Prefix, Suffix, Terminator string
	Comment                    []string
	// Length of every line in characters; 0: they vary.
	Length int
	Check  textline.Check

	// Of instruments that are asked: Query is what is sent for the channels
	// that have none of their own, QueryTerminator what is sent behind each.
	Query, QueryTerminator string
	// Identify asks the instrument what it is; empty: nothing does.
	Identify string
	// Identity is what the answer must contain; empty: anything.
	Identity string
	// Setup is sent when the port was opened.
	Setup []string
}

// Place says where in a text instrument's line a channel stands, beyond its
// column. At most one of Column of the channel, From and To, Field and Pattern
// is set.
type Place struct {
	From, To   int    // characters, counted from 1
	Field      string // name=number
	Pattern    *regexp.Regexp
	Query      string // of an instrument that is asked; empty: the instrument's
	UnitText   string // what the line says for the raw unit; empty: the raw unit
	UnitColumn int    // where it says it; 0: behind the number, or nowhere
	Decimals   *int   // always so many; nil: not stated
	On, Off    string // of a state
}

// formatKeys and placeKeys are keys of all kinds that speak lines of text.
var (
	formatKeys = []string{"separator", "prefix", "suffix", "terminator", "comment", "line_length",
		"checksum", "checksum_form", "checksum_after", "checksum_over", "checksum_order"}
	placeKeys = []string{"column", "characters", "field", "pattern", "unit_text", "unit_column", "decimals", "on", "off"}
)

// separators by their word in bench files; others stand for themselves.
var separators = map[string]string{"tab": "\t", "space": " "}

// format reads how an instrument's lines are built.
func format(i *Instrument, t *strict.Table) {
	i.Separator = separator(t.Optional("separator"))
	i.Text.Prefix = textline.Characters(t.Optional("prefix").Text())
	i.Text.Suffix = textline.Characters(t.Optional("suffix").Text())
	i.Text.Terminator = textline.Terminator(t.Optional("terminator").Text())
	i.Text.Comment = texts(t.Optional("comment"))
	if k := t.Optional("line_length"); k.Given() {
		i.Text.Length = k.Int(1, 4096)
	}
	i.Text.Check = check(t, i.Text.Terminator)
}

// separator reads what parts columns: anything that cannot be in a number.
func separator(k strict.Key) string {
	text := k.Text()
	if strings.ContainsAny(text, "0123456789.+-") && text != "" {
		k.Fault(strict.Quote(text), `what parts two columns, e.g. ",", ";", "tab", "space" or " | ", with nothing in it that numbers have`)
	}
	return text
}

// texts reads a text or a list of texts.
func texts(k strict.Key) []string {
	if !k.Listed() {
		if text := textline.Characters(k.Text()); text != "" {
			return []string{text}
		}
		return nil
	}
	var out []string
	for _, e := range k.List("a text, or a list of texts", 1) {
		if text := textline.Characters(e.Text()); text != "" {
			out = append(out, text)
		}
	}
	return out
}

// The words of checksum_over.
const (
	overText  = "text"
	overFirst = "prefix and text"
	overLast  = "text and delimiter"
	overAll   = "prefix, text and delimiter"
)

// check reads which check lines carry.
func check(t *strict.Table, terminator string) (c textline.Check) {
	kind, form := t.Optional("checksum"), t.Optional("checksum_form")
	after, over, order := t.Optional("checksum_after"), t.Optional("checksum_over"), t.Optional("checksum_order")
	if !kind.Given() {
		for _, k := range []strict.Key{form, after, over, order} {
			k.Refuse("with checksum only")
		}
		return c
	}
	c.Sum, _ = textline.SumOf(kind.OneOf(textline.SumNames()...))
	c.Form = textline.SumForm(form.OneOf(string(textline.Hex), string(textline.Decimal), string(textline.Bytes)))
	if !form.Given() {
		c.Form = textline.Hex
	}
	c.After = textline.Characters(after.Text())
	where := over.OneOf(overText, overFirst, overLast, overAll)
	c.WithPrefix = where == overFirst || where == overAll
	c.WithAfter = where == overLast || where == overAll
	c.LowFirst = order.OneOf("high-first", "low-first") == "low-first"
	switch {
	case c.Form == textline.Decimal && !after.Given():
		t.Required("checksum_after").Fault("nothing", `what stands before the check sum, e.g. "*", as its length varies`)
	case c.Form == textline.Bytes && terminator == "":
		t.Required("terminator").Fault("nothing", `what ends a line, e.g. "CRLF", as any byte may stand in the check sum`)
	case c.Sum.Bytes == 1:
		order.Refuse("a check sum of two bytes only")
	}
	return c
}

// textPlace reads where in a line a channel stands. least says whether the
// place may be left out, and is then the first column.
func textPlace(c *Channel, from Instrument, t *strict.Table, optional bool) {
	given := 0
	for _, key := range []string{"column", "characters", "field", "pattern"} {
		k := t.Optional(key)
		if !k.Given() {
			continue
		}
		if given++; given > 1 {
			k.Fault(k.Found(), "one of column, characters, field and pattern")
		}
	}
	switch column := t.Optional("column"); {
	case column.Given():
		c.Column = column.Int(1, 1000)
		if from.Separator == "" && c.Column > 1 {
			column.Fault(column.Found(), "1, as instrument "+strict.Quote(from.Name)+" has no separator")
		}
	case given == 0 && optional:
		c.Column = 1
	case given == 0:
		c.Column = t.Required("column").Int(1, 1000)
	}
	characters(c, t.Optional("characters"))
	if k := t.Optional("field"); k.Given() {
		c.Place.Field = k.Text()
	}
	if k := t.Optional("pattern"); k.Given() {
		c.Place.Pattern = pattern(k)
	}
	textUnit(c, from, t)
	onOff(c, t)
}

// characters reads the first and the last character of a field.
func characters(c *Channel, k strict.Key) {
	const want = "the first and the last character of the number, counted from 1, e.g. [1, 8]"
	if !k.Given() {
		return
	}
	first, last, ok := k.Pair("first", "last", want)
	if !ok {
		return
	}
	c.Place.From, c.Place.To = first.Int(1, 4096), last.Int(1, 4096)
	if c.Place.To < c.Place.From && c.Place.To > 0 {
		k.Fault(k.Found(), want)
	}
}

// pattern reads a regular expression with one group.
func pattern(k strict.Key) *regexp.Regexp {
	const want = `a regular expression with one group, the number, e.g. "P *= *([-+.0-9]+)"`
	text := k.Text()
	if text == "" {
		return nil
	}
	p, err := regexp.Compile(text)
	if err != nil || p.NumSubexp() != 1 {
		k.Fault(strict.Quote(text), want)
		return nil
	}
	return p
}

func textUnit(c *Channel, from Instrument, t *strict.Table) {
	unit, column, decimals := t.Optional("unit_text"), t.Optional("unit_column"), t.Optional("decimals")
	if unit.Given() {
		c.Place.UnitText = unit.Text()
	}
	if column.Given() {
		c.Place.UnitColumn = column.Int(1, 1000)
		if from.Separator == "" {
			column.Refuse("an instrument with separator only")
		} else if c.Place.UnitColumn == c.Column && c.Column > 0 {
			column.Fault(column.Found()+", where the number stands", "another column; a unit right behind its number needs no key")
		}
	}
	if decimals.Given() {
		n := decimals.Int(0, 15)
		c.Place.Decimals = &n
	}
	if c.State {
		for _, k := range []strict.Key{unit, column, decimals} {
			k.Refuse("a state is on or off")
		}
	}
}

// onOff reads the words of a state.
func onOff(c *Channel, t *strict.Table) {
	if !c.State {
		t.Optional("on").Refuse(`quantity = "state" only`)
		t.Optional("off").Refuse(`quantity = "state" only`)
		return
	}
	on, off := t.Required("on"), t.Required("off")
	c.Place.On, c.Place.Off = word(on), word(off)
	if strings.EqualFold(c.Place.On, c.Place.Off) && c.Place.On != "" {
		off.Fault(strict.Quote(c.Place.Off)+", which is on", "another word than for on")
	}
}

// word reads a word; a bare number is one too.
func word(k strict.Key) string {
	if _, err := strconv.Atoi(k.Found()); err == nil {
		return k.Found()
	}
	return k.Text()
}

// sameText says that two channels stand in the same place of a line.
func sameText(c, other Channel) (key, found, want string) {
	already := ", which channel " + strict.Quote(other.Name) + " reads already"
	p, q := c.Place, other.Place
	switch {
	case p.Query != q.Query:
	case c.Column == other.Column && c.Column != 0:
		return "column", already, "another column"
	case p.Field == q.Field && p.Field != "":
		return "field", already, "another field"
	case p.From > 0 && q.From > 0 && p.From <= q.To && q.From <= p.To:
		return "characters", ", of which channel " + strict.Quote(other.Name) + " reads some already", "characters of its own"
	case p.Pattern != nil && q.Pattern != nil && p.Pattern.String() == q.Pattern.String():
		return "pattern", already, "a pattern of its own"
	}
	return "", "", ""
}

// Format is how the instrument's lines are built.
func (i Instrument) Format() textline.Format {
	separator, ok := separators[i.Separator]
	if !ok {
		separator = textline.Characters(i.Separator)
	}
	return textline.Format{
		Separator: separator, Prefix: i.Text.Prefix, Suffix: i.Text.Suffix,
		Comment: i.Text.Comment, Length: i.Text.Length, Check: i.Text.Check,
	}
}

// TextField is where in its instrument's lines the channel stands.
func (c Channel) TextField() textline.Field {
	p := c.Place
	f := textline.Field{
		Column: c.Column, From: p.From, To: p.To, Name: p.Field, Pattern: p.Pattern,
		Written: p.UnitText, UnitColumn: p.UnitColumn, Decimals: p.Decimals, On: p.On, Off: p.Off,
		Scaled: c.RawScale != 1 && c.RawScale != 0 || c.RawOffset != 0,
	}
	// Bare counts have no unit; what is none was refused when the file was read.
	if unit, err := si.ParseUnit(c.RawUnit, c.RawQuantity); err == nil && c.RawUnit != Counts {
		f.Unit = unit
	}
	return f
}
