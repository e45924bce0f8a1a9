package textline

import (
	"errors"
	"math"
	"regexp"
	"slices"
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// Proposal says how lines that were captured can be read.
type Proposal struct {
	Format  Format
	Columns []Column
	// Headers are the lines that name columns; Passed is how many lines are
	// passed over, these and comments; Read and Garbled are the others.
	Headers               []string
	Passed, Read, Garbled int
}

// Column is one field of the lines.
type Column struct {
	// Field is where it stands; its Unit is not set.
	Field Field
	// Header is what a header line calls it, empty for nothing.
	Header string
	// Number says that it holds numbers: from Least to Most, with an Example as
	// written. Unit is what stands behind them, or in the next column, or in
	// the header; empty for nothing. It is as written and may be none that is
	// known.
	Number      bool
	Unit        string
	Example     string
	Least, Most float64
	// Words are the different texts of a column without numbers, at most four;
	// of two a state could be made.
	Words []string
}

// fewest is how many lines show what stays the same in them.
const fewest = 10

// Propose finds out how lines are built: separator, names, fixed places,
// check, prefix, headers, units. Lines are as captured, without their ends,
// the first one not torn. ok is false when nothing reads at least half of
// them.
//
// It is a guess for a person to look at: digits that stay the same tell
// nothing of what they measure.
func Propose(lines []string) (p Proposal, ok bool) {
	lines = nonBlank(lines)
	if len(lines) == 0 {
		return p, false
	}
	p.Format.Comment = comments(lines)
	data := slices.DeleteFunc(slices.Clone(lines), func(l string) bool { return p.Format.commented(l) })
	if len(data) == 0 {
		return p, false
	}
	p.Format.Prefix = edge(data, true)
	p.Format.Check = findCheck(data, p.Format.Prefix)
	p.Format.Suffix = p.suffix(data)
	texts := p.texts(data)
	if len(texts) == 0 {
		return p, false
	}
	l := bestLayout(texts)
	p.Format.Separator, p.Columns = l.separator, l.columns
	if len(p.numbers()) == 0 {
		return p, false
	}
	p.Headers = p.headers(data)
	p.name()
	p.settle(lines)
	return p, p.Read > 0 && p.Read >= p.Garbled
}

func nonBlank(lines []string) (out []string) {
	for _, l := range lines {
		if l = strings.Trim(l, "\r\n\x00"); strings.TrimSpace(l) != "" {
			out = append(out, l)
		}
	}
	return out
}

func (f Format) commented(line string) bool {
	line = strings.TrimLeft(line, "\r\n ")
	return slices.ContainsFunc(f.Comment, func(c string) bool { return strings.HasPrefix(line, c) })
}

// comments finds the marks of comments: what begins some lines, by far not all.
func comments(lines []string) (out []string) {
	for _, mark := range []string{"#", "%", "//", "!", ";", "*"} {
		n := 0
		for _, l := range lines {
			if strings.HasPrefix(strings.TrimLeft(l, " "), mark) {
				n++
			}
		}
		if n > 0 && 2*n < len(lines) {
			out = append(out, mark)
		}
	}
	return out
}

// edge is the control characters or signs with which nearly all lines begin,
// or end.
func edge(lines []string, first bool) string {
	counts := map[string]int{}
	for _, l := range lines {
		n := 0
		for n < len(l) && edgy(at(l, n, first), first) {
			n++
		}
		if first {
			counts[l[:n]]++
		} else {
			counts[l[len(l)-n:]]++
		}
	}
	for text, n := range counts {
		if 10*n >= 9*len(lines) {
			return text
		}
	}
	return ""
}

func at(l string, n int, first bool) byte {
	if first {
		return l[n]
	}
	return l[len(l)-1-n]
}

func edgy(c byte, first bool) bool {
	return c < ' ' && c != '\t' || first && strings.IndexByte("$>:@&<({[~", c) >= 0 || !first && strings.IndexByte("<>)}]~", c) >= 0
}

// suffix is what ends the lines, where no check does.
func (p Proposal) suffix(data []string) string {
	if p.Format.Check.none() {
		return edge(data, false)
	}
	return ""
}

// findCheck tries every check at every place.
func findCheck(lines []string, prefix string) Check {
	const (
		least  = 4  // of one in 256 by chance, all of so many
		enough = 50 // and more of them say nothing new
	)
	different := map[string]bool{}
	for _, l := range lines {
		if len(different) < enough {
			different[l] = true
		}
	}
	if len(different) < least {
		return Check{}
	}
	for _, form := range []SumForm{Hex, Decimal, Bytes} {
		for _, after := range []string{"*", "\x03", "#", "|", ",", ";", " ", "\t", "&", ""} {
			for _, sum := range Sums {
				for over := range 8 {
					c := Check{Sum: sum, Form: form, After: after, WithPrefix: over&1 != 0, WithAfter: over&2 != 0, LowFirst: over&4 != 0}
					if c.pointless(prefix) {
						continue
					}
					if n := c.fits(different, prefix); n >= least && 10*n >= 9*len(different) {
						return c
					}
				}
			}
		}
	}
	return Check{}
}

// pointless says that a variant is another one over again.
func (c Check) pointless(prefix string) bool {
	return c.Form == Decimal && c.After == "" || c.WithPrefix && prefix == "" || c.WithAfter && c.After == "" ||
		c.LowFirst && (c.Sum.Bytes == 1 || c.Form == Decimal)
}

func (c Check) fits(lines map[string]bool, prefix string) (n int) {
	for l := range lines {
		text, ok := strings.CutPrefix(l, prefix)
		if !ok {
			continue
		}
		if _, err := c.take(prefix, text); err == nil {
			n++
		}
	}
	return n
}

// texts are the lines without what stands around their fields; the others are
// left out.
func (p Proposal) texts(lines []string) (out []string) {
	for _, l := range lines {
		if text, err := p.Format.text(l); err == nil {
			out = append(out, text)
		}
	}
	return out
}

// layout is one way of cutting lines, and how well it does.
type layout struct {
	separator string
	columns   []Column
	score     float64
}

// bestLayout tries the separators, then fixed places.
func bestLayout(texts []string) (best layout) {
	for _, separator := range []string{"", ";", "\t", "|", ",", " ", "/", "&", "||", "::"} {
		if l := layoutOf(texts, separator); l.score > best.score+1e-9 {
			best = l
		}
	}
	if best.score < 0.6 {
		if l := fixedPlaces(texts); l.score > best.score {
			best = l
		}
	}
	return best
}

// layoutOf cuts the lines at a separator.
func layoutOf(texts []string, separator string) layout {
	f := Format{Separator: separator}
	l := layout{separator: separator}
	width, share := usualWidth(f, texts)
	if separator != "" && width < 2 || separator == "," && decimalComma(texts, width) {
		return l
	}
	cells := make([][]string, width)
	for _, t := range texts {
		if cut := f.columns(t); len(cut) == width {
			for i, c := range cut {
				cells[i] = append(cells[i], strings.TrimSpace(c))
			}
		}
	}
	numbers := 0
	for i := range cells {
		c, worth := columnOf(cells[i], i+1, f.comma())
		if c.Number {
			numbers++
		}
		l.columns = append(l.columns, c)
		l.score += worth / float64(width)
	}
	if numbers == 0 {
		return layout{separator: separator}
	}
	l.score = l.score*share + 0.001*float64(numbers)
	return l
}

// usualWidth is the commonest number of columns and the share of lines that
// have it.
func usualWidth(f Format, texts []string) (width int, share float64) {
	counts := map[int]int{}
	for _, t := range texts {
		n := len(f.columns(t))
		if counts[n]++; counts[n] > counts[width] || counts[n] == counts[width] && n > width {
			width = n
		}
	}
	return width, float64(counts[width]) / float64(len(texts))
}

// decimalComma says that the commas of the lines are those of one number.
func decimalComma(texts []string, width int) bool {
	if width != 2 {
		return false
	}
	decimals := -1
	for _, t := range texts {
		n, ok := parseNumber(strings.TrimSpace(t), true)
		if !ok || n.isNumber && decimals >= 0 && n.decimals != decimals {
			return false
		}
		if n.isNumber {
			decimals = n.decimals
		}
	}
	return decimals > 0
}

// named is a column "name = value".
var named = regexp.MustCompile(`^([A-Za-z_][A-Za-z0-9_.]*(?: [A-Za-z0-9_.]+)*)\s*[=:]\s*(.*)$`)

// columnOf looks at one column's texts. worth is from 0, which says nothing,
// to 1.
func columnOf(cells []string, column int, comma bool) (c Column, worth float64) {
	c = Column{Field: Field{Column: column}, Least: math.Inf(1), Most: math.Inf(-1)}
	if name := commonName(cells); name != "" {
		c.Field = Field{Name: name}
		c.Header = name
		for i := range cells {
			cells[i] = named.FindStringSubmatch(cells[i])[2]
		}
	}
	numbers, units := 0, map[string]int{}
	for _, cell := range cells {
		n, ok := parseNumber(cell, comma)
		switch {
		case !ok:
			if len(c.Words) < 5 && !slices.Contains(c.Words, cell) {
				c.Words = append(c.Words, cell)
			}
		case n.isNumber:
			numbers++
			units[n.unit]++
			c.Example = cell
			c.Least, c.Most = min(c.Least, n.signal.Raw), max(c.Most, n.signal.Raw)
		default:
			numbers++ // a word for none
		}
	}
	if c.Number = c.Example != "" && 5*numbers >= 4*len(cells); c.Number {
		c.Words = nil
		for unit, n := range units {
			if 2*n > numbers {
				c.Unit = unit
			}
		}
		return c, 1
	}
	c.Example = ""
	if len(cells) > 0 {
		c.Example = cells[len(cells)-1]
	}
	return c, worthOfWords(&c, cells)
}

func commonName(cells []string) string {
	name := ""
	for _, cell := range cells {
		m := named.FindStringSubmatch(cell)
		if m == nil || name != "" && m[1] != name {
			return ""
		}
		name = m[1]
	}
	return name
}

// clockTime is a time or a date.
var clockTime = regexp.MustCompile(`^\d{1,4}[-:./]\d{1,2}[-:./]\d{1,4}([ T]\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?)?Z?$`)

func worthOfWords(c *Column, cells []string) float64 {
	allTimes := true
	for _, cell := range cells {
		allTimes = allTimes && clockTime.MatchString(cell)
	}
	switch {
	case allTimes:
		c.Words = nil
		return 0.7
	case len(c.Words) == 1 && len(si.ParseAnyUnit(c.Words[0])) > 0 && c.Words[0] != "":
		return 0.9
	case len(c.Words) == 1 && c.Words[0] != "" && unitLike(c.Words[0]):
		return 0.7
	case len(c.Words) == 1:
		return 0.4
	case len(c.Words) <= 4 && !slices.ContainsFunc(c.Words, func(w string) bool { return strings.ContainsAny(w, " ,;") }):
		return 0.5
	}
	c.Words = nil
	return 0
}

// piece is a number at a fixed place.
var piece = regexp.MustCompile(`[-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?`)

// fixedPlaces looks for numbers that end at the same places in all lines of
// the commonest length; each field reaches back to the one before.
func fixedPlaces(texts []string) (l layout) {
	lengths := map[int]int{}
	usual := 0
	for _, t := range texts {
		if n := len([]rune(t)); n > 0 {
			if lengths[n]++; lengths[n] > lengths[usual] {
				usual = n
			}
		}
	}
	var ends []int
	var like []string
	for _, t := range texts {
		if len([]rune(t)) != usual || len(t) != usual {
			continue
		}
		var here []int
		for _, at := range piece.FindAllStringIndex(t, -1) {
			here = append(here, at[1])
		}
		if like = append(like, t); ends != nil && !slices.Equal(ends, here) {
			return layout{}
		}
		ends = here
	}
	if len(ends) == 0 {
		return layout{}
	}
	begins := fixedBegins(like, ends)
	for k, end := range ends {
		var cells []string
		for _, t := range like {
			cells = append(cells, strings.TrimSpace(t[begins[k]-1:end]))
		}
		c, worth := columnOf(cells, 0, true)
		c.Field = Field{From: begins[k], To: end}
		l.columns = append(l.columns, c)
		l.score += worth / float64(len(ends))
	}
	l.score *= float64(len(like)) / float64(len(texts))
	return l
}

// fixedBegins is the first character of each field: as far back as only
// numbers, signs and blanks stand there in any line, and no field does.
func fixedBegins(lines []string, ends []int) (begins []int) {
	for k, end := range ends {
		lowest := 1
		if k > 0 {
			lowest = ends[k-1] + 1
		}
		begin := end
		for begin > lowest && !slices.ContainsFunc(lines, func(l string) bool {
			return strings.IndexByte("+-0123456789. eE", l[begin-2]) < 0
		}) {
			begin--
		}
		begins = append(begins, begin)
	}
	return begins
}

// numbers are the fields of the columns that hold numbers.
func (p Proposal) numbers() (fields []Field) {
	for _, c := range p.Columns {
		if c.Number {
			fields = append(fields, c.Field)
		}
	}
	return fields
}

// headers are the lines of words that are no readings.
func (p Proposal) headers(lines []string) (out []string) {
	fields := p.numbers()
	for _, l := range lines {
		if errors.Is(p.Format.Read(l, fields, make([]daq.Signal, len(fields))), errPassedOver) && !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	return out
}

// headed is a column's name with its unit: "p [bar]", "p (bar)", "p/bar".
var headed = regexp.MustCompile(`^(.*?)\s*(?:\[(.*)\]|\((.*)\)|/\s*(\S+))$`)

// name gives columns what the header line and their neighbours say of them.
func (p *Proposal) name() {
	for _, h := range p.Headers {
		cut := p.Format.columns(strings.TrimPrefix(h, p.Format.Prefix))
		if len(cut) != len(p.Columns) {
			continue
		}
		for i, text := range cut {
			text = strings.Trim(strings.TrimSpace(text), `"`)
			unit := ""
			if m := headed.FindStringSubmatch(text); m != nil {
				text, unit = m[1], m[2]+m[3]+m[4]
			}
			c := &p.Columns[i]
			c.Header = text
			if c.Number && c.Unit == "" {
				c.Unit = unit
			}
		}
	}
	for i := range p.Columns[:max(0, len(p.Columns)-1)] {
		next := p.Columns[i+1]
		if c := &p.Columns[i]; c.Number && c.Unit == "" && !next.Number && len(next.Words) == 1 && next.Words[0] != "" && len(si.ParseAnyUnit(next.Words[0])) > 0 && next.Field.Column > 0 {
			c.Unit = next.Words[0]
			c.Field.UnitColumn = next.Field.Column
		}
	}
}

// settle looks at what stays the same in every line, and counts.
func (p *Proposal) settle(lines []string) {
	fields := p.numbers()
	dst := make([]daq.Signal, len(fields))
	lengths := map[int]int{}
	decimals := make([]map[int]int, len(fields))
	padded := false
	for _, l := range lines {
		t, err := p.Format.read(l, fields, dst)
		switch {
		case errors.Is(err, errPassedOver):
			p.Passed++
			continue
		case err != nil:
			p.Garbled++
			continue
		}
		p.Read++
		lengths[length(l)]++
		for k, n := range t.values {
			padded = padded || n.padded
			if n.isNumber {
				if decimals[k] == nil {
					decimals[k] = map[int]int{}
				}
				decimals[k][max(0, n.decimals)]++
			}
		}
	}
	if p.Read < fewest {
		return
	}
	k := 0
	for i := range p.Columns {
		if !p.Columns[i].Number {
			continue
		}
		if d := decimals[k]; len(d) == 1 {
			for n := range d {
				p.Columns[i].Field.Decimals = &n
			}
		}
		k++
	}
	if len(lengths) == 1 && (padded || p.fixed()) {
		for n := range lengths {
			p.Format.Length = n
		}
	}
}

func (p Proposal) fixed() bool {
	return slices.ContainsFunc(p.Columns, func(c Column) bool { return c.Field.From > 0 })
}
