package strict

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/pelletier/go-toml/v2"
)

// Key is one key of a table, or one element of a list, with its value. Its
// methods read the value as what it should be. An absent value is a fault
// only where it is required; whatever is wrong is noted, and the method then
// returns the zero value (NaN for a quantity), which nobody may use.
type Key struct {
	table    *Table
	name     string // within the table, e.g. "range" or "scaling: item 2: value"
	value    any
	present  bool
	required bool
	at       *place
	above    int // the line to name where at has none
}

// Fault notes what is wrong with the key.
func (k Key) Fault(found, want string) {
	field := plainKey(k.name)
	if k.table.name != "" {
		field = k.table.name + ": " + field
	}
	k.table.faults.Add(&Error{File: k.table.file, Line: k.Line(), Field: field, Found: found, Want: want})
}

// plainKey is a key as a message shows it: in quotes where it would not be
// seen as one.
func plainKey(name string) string {
	if name == "" || len(name) > quotedLength && !strings.Contains(name, ": ") || firstUnprintable(name) != "" {
		return Quote(name)
	}
	return name
}

// Line is the line of the key, or of the table where the key is absent.
func (k Key) Line() int { return k.at.lineOr(k.above) }

// Given reports whether the key has a value.
func (k Key) Given() bool { return k.present }

// Found is the value as a message shows it.
func (k Key) Found() string { return describe(k.value) }

// Listed reports whether the value is a list.
func (k Key) Listed() bool {
	_, ok := k.value.([]any)
	return ok
}

// Written is a text value word for word; empty when it is none.
func (k Key) Written() string {
	text, _ := k.value.(string)
	return text
}

// Refuse notes a fault when the key is given where it has no meaning; why
// says where it would have one.
func (k Key) Refuse(why string) {
	if k.present {
		k.Fault(describe(k.value), "no such key here ("+why+")")
	}
}

// get returns the value, or notes that it is missing.
func (k Key) get(want string) (any, bool) {
	if !k.present && k.required {
		k.Fault("nothing", want)
	}
	return k.value, k.present
}

// Text is a text on one line that is not empty.
func (k Key) Text() string {
	return k.text("a text in quotes, on one line", func(text string) bool {
		return strings.TrimSpace(text) != "" && firstUnprintable(text) == ""
	})
}

// Name is a text that may stand in the head of a column: letters, digits,
// "_", "-" and ".".
func (k Key) Name() string {
	return k.text(`a name of letters, digits, "_", "-" and "."`, func(text string) bool {
		return text != "" && !strings.ContainsFunc(text, func(r rune) bool {
			return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("_-.", r)
		})
	})
}

func (k Key) text(want string, fits func(string) bool) string {
	v, ok := k.get(want)
	if !ok {
		return ""
	}
	text, ok := v.(string)
	if !ok || !fits(text) {
		k.Fault(describe(v), want)
		return ""
	}
	return text
}

// OneOf is one of some texts.
func (k Key) OneOf(choices ...string) string {
	quoted := make([]string, len(choices))
	for i, c := range choices {
		quoted[i] = strconv.Quote(c)
	}
	want := strings.Join(quoted, " or ")
	return k.text(want, func(text string) bool { return slices.Contains(choices, text) })
}

// Bool is true or false; false, with a fault noted, where it is neither.
func (k Key) Bool() bool {
	const want = "true or false, without quotes"
	v, ok := k.get(want)
	if !ok {
		return false
	}
	b, ok := v.(bool)
	if !ok {
		k.Fault(describe(v), want)
	}
	return b
}

// Int is a whole number from low to high.
func (k Key) Int(low, high int) int {
	want := fmt.Sprintf("a whole number from %d to %d", low, high)
	v, ok := k.get(want)
	if !ok {
		return 0
	}
	n, ok := v.(int64)
	if !ok || n < int64(low) || n > int64(high) {
		k.Fault(describe(v), want)
		return 0
	}
	return int(n)
}

// Number is a finite number without a unit for which fits is true; want says
// in words which numbers fit.
func (k Key) Number(want string, fits func(float64) bool) float64 {
	v, ok := k.get(want)
	if !ok {
		return 0
	}
	x := math.NaN()
	switch n := v.(type) {
	case int64:
		x = float64(n)
	case float64:
		x = n
	}
	if math.IsNaN(x) || math.IsInf(x, 0) || !fits(x) {
		k.Fault(describe(v), want)
		return 0
	}
	return x
}

// Day is a calendar day, midnight UTC.
func (k Key) Day() time.Time {
	const want = "a date without quotes, e.g. 2026-03-02"
	v, ok := k.get(want)
	if !ok {
		return time.Time{}
	}
	day, ok := v.(toml.LocalDate)
	if !ok {
		k.Fault(describe(v), want)
		return time.Time{}
	}
	return day.AsTime(time.UTC)
}

// List returns the elements of a list with at least least of them; want says
// in words what the list should be. It is nil when absent or no such list.
func (k Key) List(want string, least int) []Key {
	v, ok := k.get(want)
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok || len(list) < least {
		k.Fault(describe(v), want)
		return nil
	}
	out := make([]Key, len(list))
	for i, e := range list {
		out[i] = k.element(i, "item "+strconv.Itoa(i+1), e)
	}
	return out
}

// Pair returns the two elements of a list of two, under the names by which
// messages call them; ok is false when there is no such list.
func (k Key) Pair(first, second, want string) (a, b Key, ok bool) {
	v, ok := k.get(want)
	if !ok {
		return a, b, false
	}
	list, ok := v.([]any)
	if !ok || len(list) != 2 {
		k.Fault(describe(v), want)
		return a, b, false
	}
	return k.element(0, first, list[0]), k.element(1, second, list[1]), true
}

func (k Key) element(i int, name string, value any) Key {
	return Key{table: k.table, name: k.name + ": " + name, value: value, present: true, required: true,
		at: k.at.element(i), above: k.Line()}
}

// Table is the table [key]; nil when absent or none.
func (k Key) Table() *Table {
	want := "a table [" + k.header() + "]"
	v, ok := k.get(want)
	if !ok {
		return nil
	}
	values, ok := v.(map[string]any)
	if !ok {
		k.Fault(describe(v), want)
		return nil
	}
	return k.table.tableBelow(k, plainKey(k.name), values, k.at)
}

// Tables are the tables [[key]], in their order.
func (k Key) Tables() []*Table {
	want := "at least one table [[" + k.header() + "]]"
	v, ok := k.get(want)
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		k.Fault(describe(v), want)
		return nil
	}
	if len(list) == 0 && k.required {
		k.Fault("an empty list", want)
	}
	var out []*Table
	for i, e := range list {
		values, ok := e.(map[string]any)
		if !ok {
			k.element(i, "item "+strconv.Itoa(i+1), e).Fault(describe(e), "a table [["+k.header()+"]]")
			continue
		}
		out = append(out, k.table.tableBelow(k, elementName(k.name, i, values), values, k.at.element(i)))
	}
	return out
}

// header is what stands in the brackets of the table that the key names.
func (k Key) header() string {
	if k.table.header == "" {
		return plainKey(k.name)
	}
	return k.table.header + "." + plainKey(k.name)
}
