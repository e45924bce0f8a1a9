package strict

import (
	"slices"
	"strconv"
	"strings"
)

// Table is one table of a TOML document, with the lines of its keys. Its
// reader asks for each key that may stand in it, then calls Close.
type Table struct {
	file   string
	name   string // in words, for messages; empty for the outermost
	header string // as between the brackets, e.g. "position.circuit"
	values map[string]any
	place  *place
	faults *Faults
	asked  []string
	below  []*Table
}

// Line is the line on which the table begins.
func (t *Table) Line() int { return t.place.lineOr(0) }

// Has reports whether the key stands in the table, whatever its value.
func (t *Table) Has(key string) bool {
	_, ok := t.values[key]
	return ok
}

// Fault notes a fault of the table as a whole.
func (t *Table) Fault(found, want string) {
	t.faults.Add(&Error{File: t.file, Line: t.Line(), Field: t.name, Found: found, Want: want})
}

// Required is a key that must stand in the table.
func (t *Table) Required(key string) Key { return t.key(key, true) }

// Optional is a key that may stand in the table.
func (t *Table) Optional(key string) Key { return t.key(key, false) }

func (t *Table) key(name string, required bool) Key {
	if !slices.Contains(t.asked, name) {
		t.asked = append(t.asked, name)
	}
	value, present := t.values[name]
	return Key{table: t, name: name, value: value, present: present, required: required,
		at: t.place.key(name), above: t.Line()}
}

// Close names the keys that nobody asked for, here and in the tables below,
// each with the known key that is nearest to it.
func (t *Table) Close() {
	for _, key := range sortedKeys(t.values) {
		if slices.Contains(t.asked, key) {
			continue
		}
		unknown := Key{table: t, name: key, at: t.place.key(key), above: t.Line()}
		want := "one of " + strings.Join(slices.Sorted(slices.Values(t.asked)), ", ")
		if len(t.asked) == 1 {
			want = strconv.Quote(t.asked[0])
		}
		if near := nearest(key, t.asked); near != "" {
			want = strconv.Quote(near) + "?"
		}
		unknown.Fault("an unknown key", want)
	}
	for _, below := range t.below {
		below.Close()
	}
}

// tableBelow makes the table that stands under a key, or an element of it;
// name is what messages call it.
func (t *Table) tableBelow(k Key, name string, values map[string]any, at *place) *Table {
	below := &Table{file: t.file, name: name, header: k.header(), values: values, place: at, faults: t.faults}
	if t.name != "" {
		below.name = t.name + ": " + below.name
	}
	t.below = append(t.below, below)
	return below
}

// elementName is `channel "feed"` where the element has a name, `channel 3`
// where it has none.
func elementName(key string, i int, values map[string]any) string {
	if name, ok := values["name"].(string); ok && name != "" {
		return plainKey(key) + " " + Quote(name)
	}
	return plainKey(key) + " " + strconv.Itoa(i+1)
}

func sortedKeys(m map[string]any) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
