package foreign

import (
	"bytes"
	"strings"
	"time"
)

// date is a date as written: three parts.
type date struct {
	part   [3]int
	digits [3]int // 0: a month by its name
	mark   byte   // between the parts
}

// cutDate takes three parts joined by one of ". / -" from the front; blanks do
// too where the month is a name.
func cutDate(text []byte) (d date, rest []byte, ok bool) {
	for i := range d.part {
		n := 0
		for n < len(text) && n < 5 && isDigit(text[n]) {
			d.part[i] = d.part[i]*10 + int(text[n]-'0')
			n++
		}
		if n == 0 {
			if d.part[i], n = monthNamed(text); n == 0 {
				return d, nil, false
			}
		} else {
			d.digits[i] = n
		}
		text = text[n:]
		if i == 2 {
			break
		}
		if len(text) == 0 || strings.IndexByte("./- ", text[0]) < 0 || i == 1 && text[0] != d.mark {
			return d, nil, false
		}
		d.mark = text[0]
		text = text[1:]
	}
	return d, text, d.mark != ' ' || d.named() >= 0
}

// named is the part that is a month by its name; -1 if none.
func (d date) named() int {
	for i, n := range d.digits {
		if n == 0 {
			return i
		}
	}
	return -1
}

// plausible reports whether the parts can be a date in some order.
func (d date) plausible() bool {
	for _, o := range orders {
		if _, ok := d.day(o); ok {
			return true
		}
	}
	return false
}

// order is where day, month and year stand in a date.
type order struct {
	word             string
	day, month, year int
}

var orders = [...]order{{"dmy", 0, 1, 2}, {"mdy", 1, 0, 2}, {"ymd", 2, 1, 0}}

// day returns the days since 1970-01-01 of the date in that order; ok is false
// where the calendar has no such day, or nobody would write it so.
func (d date) day(o order) (days int64, ok bool) {
	year := d.part[o.year]
	switch {
	case d.digits[o.year] == 2:
		year += 2000
	case d.digits[o.year] != 4:
		return 0, false
	}
	if d.digits[o.day] == 0 || d.digits[o.day] > 2 || d.digits[o.month] > 2 {
		return 0, false
	}
	month, day := d.part[o.month], d.part[o.day]
	at := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	if at.Day() != day || int(at.Month()) != month {
		return 0, false
	}
	return at.Unix() / secondsADay, true
}

const secondsADay = 86400

// customary reports whether people write such a date in that order: with dots
// the day stands first (no locale puts the month there), with a month's name a
// year of two figures stands last.
func (d date) customary(o order) bool {
	if d.mark == '.' && o.word == "mdy" {
		return false
	}
	return o.word != "ymd" || d.digits[o.year] == 4 || d.mark != '.' && d.named() < 0
}

// monthNames begin the names of months in English, German, French and Spanish;
// of two that fit the longer counts.
var monthNames = [12][]string{
	{"jan", "ene", "jän"}, {"feb", "fév", "fev"}, {"mar", "mär", "mrz"}, {"apr", "avr", "abr"},
	{"may", "mai"}, {"jun", "juin"}, {"jul", "juil"}, {"aug", "aoû", "aou", "ago"},
	{"sep", "set"}, {"oct", "okt"}, {"nov"}, {"dec", "dez", "déc", "dic"},
}

// monthNamed reads a month's name, whole or short, perhaps with a dot; n is
// its length, 0 if there is none.
func monthNamed(text []byte) (month, n int) {
	end := 0
	for end < len(text) && (text[end]|0x20 >= 'a' && text[end]|0x20 <= 'z' || text[end] >= 0x80) {
		end++
	}
	if end < 3 || end > 12 {
		return 0, 0
	}
	word := bytes.ToLower(text[:end])
	for m, names := range monthNames {
		for _, name := range names {
			if bytes.HasPrefix(word, []byte(name)) {
				return m + 1, end
			}
		}
	}
	return 0, 0
}

// calendar reads dates of one order and learns which it is.
type calendar struct {
	given    bool              // the order is not to be learnt
	possible [len(orders)]bool // orders in which every date so far can be read
	open     bool              // some date is another day in another such order
	example  string            // the first such date
	dots     bool              // some date has its day first by its dots alone
	misread  bool              // dates were read in an order that turned out wrong

	known     [32]byte // the last date as written, so that a row costs no sum
	knownSize int
	knownDay  int64
}

// newCalendar knows no order, or the one that is given.
func newCalendar(word string) calendar {
	var c calendar
	for _, o := range orders {
		c.given = c.given || o.word == word
	}
	for i, o := range orders {
		c.possible[i] = o.word == word || !c.given
	}
	return c
}

// word is the order's word when only one is left and it mattered.
func (c *calendar) word() string {
	word, n := "", 0
	for i, o := range orders {
		if c.possible[i] {
			word = o.word
			n++
		}
	}
	if n != 1 {
		return ""
	}
	return word
}

// day reads a date from the front of text: days since 1970-01-01.
func (c *calendar) day(text []byte) (days int64, rest []byte, ok bool) {
	if c.knownSize > 0 && bytes.HasPrefix(text, c.known[:c.knownSize]) &&
		(len(text) == c.knownSize || !isDigit(text[c.knownSize])) {
		return c.knownDay, text[c.knownSize:], true
	}
	d, rest, ok := cutDate(text)
	if !ok {
		return 0, nil, false
	}
	written := text[:len(text)-len(rest)]
	if days, ok = c.learn(d, string(written)); !ok {
		return 0, nil, false
	}
	c.knownSize = 0
	if len(written) <= len(c.known) {
		c.knownSize = copy(c.known[:], written)
		c.knownDay = days
	}
	return days, rest, true
}

// learn reads a date in the first order that is still possible, after ruling
// out those in which it is none.
func (c *calendar) learn(d date, written string) (int64, bool) {
	var now [len(orders)]bool
	var days []int64
	for i, o := range orders {
		day, ok := d.day(o)
		now[i] = ok && c.possible[i] && (c.given || d.customary(o))
		if now[i] {
			days = append(days, day)
		}
	}
	switch {
	case len(days) == 0:
		return 0, false
	case d.settled():
		c.dots = c.dots || d.mark == '.'
		return days[0], true
	}
	c.misread = c.misread || c.open && firstOf(c.possible) != firstOf(now)
	c.possible = now
	for _, day := range days[1:] {
		if day != days[0] && !c.open {
			c.open, c.example = true, written
		}
	}
	return days[0], true
}

// settled reports whether a date says by itself in which order it is, so that
// nothing can be learnt of others.
func (d date) settled() bool { return d.digits[0] == 4 || d.named() >= 0 || d.mark == '.' }

func firstOf(possible [len(orders)]bool) int {
	for i, p := range possible {
		if p {
			return i
		}
	}
	return -1
}

// ambiguous returns the readings that are left, when they differ.
func (c *calendar) ambiguous() []string {
	var words []string
	for i, o := range orders {
		if c.possible[i] {
			words = append(words, o.word)
		}
	}
	if !c.open || len(words) < 2 {
		return nil
	}
	return words
}
