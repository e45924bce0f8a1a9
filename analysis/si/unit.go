package si

import "strings"

// Unit is a unit of a quantity: SI = x·Factor + Offset. Offset is 0 but for
// the temperatures in °C and °F.
type Unit struct {
	// Symbol as printed, e.g. "bar/min", "°C"; ParseUnit reads it back.
	Symbol         string
	Quantity       Quantity
	Factor, Offset float64
}

// ToSI turns a number in this unit into SI.
func (u Unit) ToSI(x float64) float64 { return x*u.Factor + u.Offset }

// FromSI turns an SI number into this unit.
func (u Unit) FromSI(x float64) float64 { return (x - u.Offset) / u.Factor }

// ParseUnit reads a unit of the given quantity: "bar/min", "psi", "degC",
// "cm3", "%". Spaces, µ/u, °/deg and superscripts are forgiven; upper and
// lower case matter where they part two units. A unit of another quantity or
// of none is an *Error that lists what would be right.
func ParseUnit(text string, q Quantity) (Unit, error) {
	if u, ok := lookup(text, q); ok {
		return u, nil
	}
	return Unit{}, unitError(text, q)
}

// ParseAnyUnit returns the unit of every quantity that has one so written, in
// the order of the quantities: "bar" is a unit of pressure and of pressure
// change. Nil if nothing has it.
func ParseAnyUnit(text string) []Unit {
	var found []Unit
	for _, q := range Quantities() {
		if u, ok := lookup(text, q); ok {
			found = append(found, u)
		}
	}
	return found
}

// lookup finds a row of the quantity's own, or builds a compound at the last
// slash that leaves a known unit on both sides (kgf/cm²/min has two).
func lookup(text string, q Quantity) (Unit, bool) {
	if u, ok := lookupRow(text, q); ok {
		return u, true
	}
	row := quantities[q]
	if !row.compound {
		return Unit{}, false
	}
	text = strings.ReplaceAll(text, " per ", "/")
	cut := strings.LastIndex(text, "/")
	if cut < 0 {
		return Unit{}, false
	}
	over, okOver := lookupRow(text[:cut], row.over)
	under, okUnder := lookupRow(text[cut+1:], row.under)
	if !okOver || !okUnder {
		return Unit{}, false
	}
	return Unit{Symbol: over.Symbol + "/" + under.Symbol, Quantity: q, Factor: over.Factor / under.Factor}, true
}

func lookupRow(text string, q Quantity) (Unit, bool) {
	key := plain(text)
	u, ok := spellings[spelling{q, key, false}]
	if !ok {
		u, ok = spellings[spelling{q, strings.ToLower(key), true}]
	}
	return u, ok
}

// spelling is a key of the index: a quantity and a plain spelling, which is in
// lower case where anyCase is set.
type spelling struct {
	quantity Quantity
	text     string
	anyCase  bool
}

var spellings = indexTable()

func indexTable() map[spelling]Unit {
	index := map[spelling]Unit{}
	for q, rows := range table {
		for _, r := range rows {
			u := Unit{Symbol: r.symbol, Quantity: q, Factor: r.factor, Offset: r.offset}
			for _, s := range append([]string{r.symbol}, r.also...) {
				index[spelling{q, plain(s), false}] = u
				if r.anyCase {
					index[spelling{q, strings.ToLower(plain(s)), true}] = u
				}
			}
		}
	}
	return index
}

var plainer = strings.NewReplacer(
	" ", "", "\t", "", "\u00a0", "", "\u2009", "", "\u202f", "", // spaces
	"µ", "u", "\u03bc", "u", // micro sign, Greek mu
	"°", "deg", "º", "deg", "℃", "degC", "℉", "degF",
	"²", "2", "³", "3", "^", "",
)

// plain brings the spellings that are forgiven to one.
func plain(text string) string { return plainer.Replace(text) }
