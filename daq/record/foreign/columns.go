package foreign

import (
	"slices"
	"strconv"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// finder gives roles their columns.
type finder struct {
	*table
	settings Settings
	chosen   [Roles]int // index of the column, -1 for none
}

// findColumns gives each role its column: the one that the settings name,
// else the one that the header shows. Where more than one could be meant the
// error lists them.
func (t *table) findColumns(s Settings) (*finder, error) {
	f := &finder{table: t, settings: s}
	for r := range f.chosen {
		f.chosen[r] = -1
	}
	for r, c := range s.Columns {
		if c.Number == 0 && (c.Name == "" || c.Name == None) {
			continue
		}
		k, err := f.named(Role(r), c)
		if err != nil {
			return nil, err
		}
		f.chosen[r] = k
	}
	for _, find := range []func() error{f.findTime, f.findTrapped, f.findFeed, f.findTemperatures} {
		if err := find(); err != nil {
			return nil, err
		}
	}
	if f.chosen[TrappedA] < 0 && f.chosen[TrappedB] < 0 {
		return nil, f.headerFault("", f.columnsFound(), "a pressure column; say which it is, e.g. "+f.example(TrappedA))
	}
	return f, nil
}

// open reports whether a role is still to be found: nothing is said of it.
func (f *finder) open(r Role) bool {
	return f.chosen[r] < 0 && f.settings.Columns[r].Name != None
}

// headerFault is an error at the header's line.
func (f *finder) headerFault(field, found, want string) error {
	line := 0
	if f.header >= 0 {
		line = f.records[f.header].line
	}
	return f.head.fault(line, field, found, want)
}

// named is the column that the settings name: by its whole heading, its name
// without unit, or its number.
func (f *finder) named(r Role, c Column) (int, error) {
	if c.Name == "" {
		if c.Number > f.width {
			return 0, f.headerFault(roles[r].words, "column "+strconv.Itoa(c.Number), "a column from 1 to "+strconv.Itoa(f.width))
		}
		return c.Number - 1, nil
	}
	name := strings.Join(strings.Fields(c.Name), " ")
	var found []int
	for _, same := range []func(h heading) bool{
		func(h heading) bool { return h.full == name || h.full == name+" ["+c.Unit+"]" },
		func(h heading) bool { return strings.EqualFold(h.full, name) },
		func(h heading) bool { return strings.EqualFold(h.name, name) },
	} {
		for k, h := range f.headings {
			if same(h) {
				found = append(found, k)
			}
		}
		if len(found) > 0 {
			break
		}
	}
	switch {
	case len(found) == 1 && found[0] < f.width:
		return found[0], nil
	case len(found) > 1:
		return 0, f.ambiguous(r, found)
	}
	return 0, f.headerFault(roles[r].words, f.columnsFound(), "a column "+strict.Quote(name))
}

// columnsFound lists what the header has.
func (f *finder) columnsFound() string {
	if f.header < 0 {
		return strconv.Itoa(f.width) + " columns without names"
	}
	return "the columns " + f.list(func(int) bool { return true })
}

// listed is how many columns a message lists.
const listed = 12

func (f *finder) list(which func(k int) bool) string {
	var names []string
	for k := range f.headings {
		if which(k) {
			names = append(names, f.title(k))
		}
	}
	if len(names) > listed {
		names = append(names[:listed], "and "+strconv.Itoa(len(names)-listed)+" more")
	}
	return strings.Join(names, ", ")
}

// title is what a message calls a column: its heading, or its number.
func (f *finder) title(k int) string {
	if k >= len(f.headings) || f.headings[k].full == "" {
		return strconv.Itoa(k + 1)
	}
	return strict.Quote(f.headings[k].full)
}

// ambiguous is the error for more than one column that could have a role.
func (f *finder) ambiguous(r Role, found []int) error {
	return f.headerFault(roles[r].words, strconv.Itoa(len(found))+" columns that could be it: "+
		f.list(func(k int) bool { return slices.Contains(found, k) }),
		"one of them by name or number, e.g. "+r.optionFor(f.reference(found[0]), ""))
}

// reference is how a column is given on the command line.
func (f *finder) reference(k int) string {
	if k < len(f.headings) && f.headings[k].name != "" && f.unique(k) {
		return f.headings[k].name
	}
	return strconv.Itoa(k + 1)
}

// unique reports whether a column's name stands for it alone.
func (f *finder) unique(k int) bool {
	n := 0
	for _, h := range f.headings {
		if strings.EqualFold(h.name, f.headings[k].name) {
			n++
		}
	}
	return n == 1
}

// example is how a role would be given a column, with a unit where it has none.
func (f *finder) example(r Role) string {
	for k := range f.width {
		if f.mostly(k) == isNumber && !slices.Contains(f.chosen[:], k) {
			unit := ""
			if f.headings[k].unit == "" {
				unit = "bar"
			}
			return r.optionFor(f.reference(k), unit)
		}
	}
	return r.optionFor("COLUMN", "bar")
}

// candidates are the columns, not yet taken, of a quantity by unit or name,
// for which fits is true; those of words only where none has figures.
func (f *finder) candidates(q si.Quantity, fits func(h heading) bool) []int {
	var out, wordy []int
	for k, h := range f.headings[:min(f.width, len(f.headings))] {
		holds, ok := h.quantity()
		if ok && holds == q && !h.mean.has(saysNot) && !slices.Contains(f.chosen[:], k) && fits(h) {
			if f.mostly(k) == isText {
				wordy = append(wordy, k)
			} else {
				out = append(out, k)
			}
		}
	}
	if len(out) == 0 {
		return wordy
	}
	return out
}

// only takes the one candidate; more than one is an error, none is none.
func (f *finder) only(r Role, found []int) error {
	switch len(found) {
	case 0:
		return nil
	case 1:
		f.chosen[r] = found[0]
		return nil
	}
	return f.ambiguous(r, found)
}

// prefer returns the candidates whose name says one thing more, if there are
// any.
func (f *finder) prefer(found []int, says meaning) []int {
	var out []int
	for _, k := range found {
		if f.headings[k].mean.has(says) {
			out = append(out, k)
		}
	}
	if len(out) == 0 {
		return found
	}
	return out
}

// findTrapped finds the trapped pressures of the circuits, unless the settings
// name one: then they name all that are wanted.
func (f *finder) findTrapped() error {
	if f.chosen[TrappedA] >= 0 || f.chosen[TrappedB] >= 0 {
		return nil
	}
	all := f.candidates(si.Pressure, func(h heading) bool { return !h.mean.has(saysFeed|saysAmbient) || h.mean.has(saysTrapped) })
	var a, b, bare []int
	for _, k := range all {
		switch m := f.headings[k].mean; {
		case m.has(saysA) && !m.has(saysB):
			a = append(a, k)
		case m.has(saysB) && !m.has(saysA):
			b = append(b, k)
		default:
			bare = append(bare, k)
		}
	}
	if len(a) == 0 {
		a = f.prefer(bare, saysTrapped)
	}
	if f.open(TrappedA) {
		if err := f.only(TrappedA, f.prefer(a, saysTrapped)); err != nil {
			return err
		}
	}
	if f.open(TrappedB) {
		return f.only(TrappedB, f.prefer(b, saysTrapped))
	}
	return nil
}

func (f *finder) findFeed() error {
	if !f.open(Feed) {
		return nil
	}
	return f.only(Feed, f.candidates(si.Pressure, func(h heading) bool { return h.mean.has(saysFeed) && !h.mean.has(saysAmbient) }))
}

func (f *finder) findTemperatures() error {
	if f.open(Ambient) {
		if err := f.only(Ambient, f.candidates(si.Temperature, func(h heading) bool { return h.mean.has(saysAmbient) })); err != nil {
			return err
		}
	}
	if f.open(Temperature) {
		found := f.candidates(si.Temperature, func(h heading) bool { return !h.mean.has(saysAmbient) })
		return f.only(Temperature, f.prefer(found, saysLiquid))
	}
	return nil
}
