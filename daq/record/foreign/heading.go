package foreign

import (
	"strings"
	"unicode"

	"holdbench/analysis/si"
)

// heading is what the head of one column says.
type heading struct {
	full string // as in the file, blanks collapsed
	name string // without the unit
	unit string // as written; empty where there is none
	mean meaning
}

// reference says against what a pressure is measured.
type reference uint8

const (
	unsaid reference = iota
	gauge
	absolute
)

// readable are the quantities that columns have here.
var readable = []si.Quantity{si.Pressure, si.Temperature, si.Time}

// parseUnit reads a unit of time, temperature or pressure; a pressure may say
// "absolute" or "gauge" behind it, as in "bar(a)", "psig", "kPa abs".
func parseUnit(text string) (si.Unit, reference, bool) {
	if u, ok := plainUnit(text, readable...); ok {
		return u, unsaid, true
	}
	text = strings.TrimSpace(text)
	for _, s := range referenceWords {
		cut := len(text) - len(s.word)
		if cut <= 0 || !strings.EqualFold(text[cut:], s.word) {
			continue
		}
		if u, ok := plainUnit(strings.TrimRight(text[:cut], " _-("), si.Pressure); ok {
			return u, s.reference, true
		}
	}
	if special := specialUnits[strings.ToLower(text)]; special != "" {
		return parseUnit(special)
	}
	return si.Unit{}, unsaid, false
}

// plainUnit reads a unit of one of the quantities, the first that has it.
func plainUnit(text string, of ...si.Quantity) (si.Unit, bool) {
	units := si.ParseAnyUnit(text)
	for _, q := range of {
		for _, u := range units {
			if u.Quantity == q && text != "" {
				return u, true
			}
		}
	}
	return si.Unit{}, false
}

// referenceWords end the unit of a pressure, the longer first.
var referenceWords = []struct {
	word      string
	reference reference
}{
	{"absolute)", absolute}, {"absolute", absolute}, {"(abs.)", absolute}, {"(abs)", absolute}, {"abs.", absolute}, {"abs", absolute}, {"(a)", absolute}, {"a", absolute},
	{"(gauge)", gauge}, {"gauge", gauge}, {"(rel.)", gauge}, {"(rel)", gauge}, {"rel", gauge}, {"(g)", gauge}, {"g", gauge}, {"(ü)", gauge}, {"ü", gauge},
}

// specialUnits are spellings that people use in heads of columns only.
var specialUnits = map[string]string{
	"celcius": "°C", "grad c": "°C", "grad celsius": "°C", "deg. c": "°C", "oc": "°C", "degrees c": "°C", "deg.c": "°C",
	"degrees f": "°F", "deg. f": "°F", "deg.f": "°F", "kelvin": "K",
	"sek": "s", "sekunden": "s", "secondes": "s", "segundos": "s", "secs": "s", "sec.": "s", "msec": "ms", "mins": "min",
	"minuten": "min", "minutos": "min", "std": "h", "stunden": "h", "heures": "h", "horas": "h", "hrs": "h",
	"bars": "bar", "lbs/in2": "psi", "millibar": "mbar",
}

// parseHeading reads the head of a column.
func parseHeading(text string) heading {
	full := strings.Join(strings.Fields(strings.ReplaceAll(text, `""`, `"`)), " ")
	h := heading{full: full, name: full}
	h.mean = meaningOf(full)
	for _, cut := range []func(string) (string, string, bool){cutBrackets, cutRound, cutSlash, cutWord} {
		name, unit, ok := cut(full)
		if !ok {
			continue
		}
		// A name of one quantity does not end with a unit of another:
		// pressure_min is a smallest pressure, no time.
		mean := meaningOf(name)
		if u, _, known := parseUnit(unit); known && mean.fits(u.Quantity) || unit != "" && full[len(full)-1] == ']' {
			h.name, h.unit, h.mean = name, unit, mean
			return h
		}
	}
	return h
}

// cutBrackets cuts "p [bar]".
func cutBrackets(text string) (name, unit string, ok bool) {
	open := strings.IndexByte(text, '[')
	if open < 0 || !strings.HasSuffix(text, "]") {
		return "", "", false
	}
	return strings.TrimSpace(text[:open]), strings.TrimSpace(text[open+1 : len(text)-1]), true
}

// cutRound cuts "p (bar)", "p (bar(a))": at the bracket that the last one
// closes.
func cutRound(text string) (name, unit string, ok bool) {
	if !strings.HasSuffix(text, ")") {
		return "", "", false
	}
	depth := 0
	for i := len(text) - 1; i >= 0; i-- {
		switch text[i] {
		case ')':
			depth++
		case '(':
			depth--
		}
		if depth == 0 {
			if unit := text[i+1 : len(text)-1]; i == 0 || text[i-1] == ' ' || unitKnown(unit) {
				return strings.TrimSpace(text[:i]), strings.TrimSpace(unit), true
			}
			return "", "", false // p bar(a)
		}
	}
	return "", "", false
}

func unitKnown(text string) bool {
	_, _, ok := parseUnit(text)
	return ok && len(text) > 1
}

// cutSlash cuts "p / bar" and "Q / mL/min" at the first slash.
func cutSlash(text string) (name, unit string, ok bool) {
	name, unit, ok = strings.Cut(text, "/")
	return strings.TrimSpace(name), strings.TrimSpace(unit), ok
}

// cutWord cuts "p bar", "p_bar", "p, bar", "p in bar", and takes a unit that
// stands alone. The longest unit counts: "p kPa abs".
func cutWord(text string) (name, unit string, ok bool) {
	if _, _, known := parseUnit(text); known && (len(text) > 1 || text == "s") {
		return "", text, true
	}
	for i, c := range text {
		if c != ' ' && c != '_' && c != ',' && c != '-' {
			continue
		}
		unit := strings.TrimLeft(text[i:], " _,-")
		if _, _, known := parseUnit(unit); known {
			return strings.TrimRight(strings.TrimSuffix(text[:i], " in"), " _,-"), unit, true
		}
	}
	return "", "", false
}

// words are the parts of a name: letters or figures, in lower case, without
// accents, parted at other characters and where "pressureA" changes case.
func words(name string) []string {
	var out []string
	var word strings.Builder
	flush := func() {
		if word.Len() > 0 {
			out = append(out, word.String())
			word.Reset()
		}
	}
	var before rune
	for _, c := range name {
		switch {
		case !unicode.IsLetter(c) && !unicode.IsDigit(c):
			flush()
		case unicode.IsDigit(c) != unicode.IsDigit(before), unicode.IsUpper(c) && unicode.IsLower(before):
			flush()
			fallthrough
		default:
			word.WriteString(withoutAccent(unicode.ToLower(c)))
		}
		before = c
	}
	flush()
	return out
}

var accents = map[rune]string{'ä': "a", 'á': "a", 'à': "a", 'â': "a", 'é': "e", 'è': "e", 'ê': "e", 'ë': "e", 'í': "i", 'î': "i",
	'ö': "o", 'ó': "o", 'ô': "o", 'ü': "u", 'ú': "u", 'û': "u", 'ñ': "n", 'ç': "c", 'ß': "ss"}

func withoutAccent(c rune) string {
	if plain, ok := accents[c]; ok {
		return plain
	}
	return string(c)
}
