package si

import "strings"

// Error says what was found where a quantity or a unit was wanted, and what
// would be right. Who reads files puts Found and Want beside file and line.
type Error struct {
	Found, Want string
}

// Error returns "found …, want …".
func (e *Error) Error() string { return "found " + e.Found + ", want " + e.Want }

func quote(text string) string { return `"` + strings.TrimSpace(text) + `"` }

// article returns "a pressure".
func article(q Quantity) string { return "a " + q.String() }

// want describes a number with unit.
func want(q Quantity) string {
	if q == Dimensionless {
		return `a number, e.g. "0.05" or ` + example(q)
	}
	return article(q) + " with unit, e.g. " + example(q)
}

func wantUncertain(q Quantity) string {
	return article(q) + " ± its standard uncertainty in " + strings.Join(units(q), ", ") + ", e.g. " + exampleUncertain(q)
}

// wantUnit describes the units of a quantity, with a hint where case alone is
// wrong.
func wantUnit(found string, q Quantity) string {
	wanted := article(q) + " in " + strings.Join(units(q), ", ")
	for _, u := range units(q) {
		if plain(found) != plain(u) && strings.EqualFold(plain(found), plain(u)) {
			return wanted + " (upper and lower case differ: " + u + ")"
		}
	}
	return wanted
}

// units lists the symbols of a quantity; for a compound, its SI unit and the
// one that people write.
func units(q Quantity) []string {
	if row := quantities[q]; row.compound {
		return []string{row.si, row.example + " and the like"}
	}
	var symbols []string
	for _, r := range table[q] {
		symbols = append(symbols, r.symbol)
	}
	return symbols
}

// example returns a plausible value of the quantity as one would write it.
func example(q Quantity) string {
	return quote(quantities[q].value + " " + quantities[q].example)
}

func exampleUncertain(q Quantity) string {
	return quote(quantities[q].value + " ± " + quantities[q].u + " " + quantities[q].example)
}

// otherQuantity returns ", a temperature" when the unit belongs to one.
func otherQuantity(unit string, q Quantity) string {
	for _, u := range ParseAnyUnit(unit) {
		if u.Quantity != q && u.Quantity != Dimensionless {
			return ", " + article(u.Quantity)
		}
	}
	return ""
}

// unitError is the error for a unit that stands alone.
func unitError(text string, q Quantity) error {
	return &Error{
		Found: "unit " + quote(text) + otherQuantity(text, q),
		Want:  wantUnit(text, q) + ", e.g. " + quote(quantities[q].example),
	}
}
