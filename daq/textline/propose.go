package textline

import (
	"errors"
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
