package bench

import (
	"strconv"
	"strings"

	"holdbench/daq/textline"
)

// FormatKeys are the lines of an [[instrument]] table that say how its lines
// of text are built, as a bench file has them; what is as usual is left out.
func FormatKeys(f textline.Format, terminator string) []string {
	var k keys
	switch f.Separator {
	case "\t":
		k.text("separator", "tab")
	case " ":
		k.text("separator", "space")
	default:
		k.text("separator", textline.Printable(f.Separator))
	}
	k.text("prefix", textline.Printable(f.Prefix))
	k.text("suffix", textline.Printable(f.Suffix))
	k.text("terminator", textline.Printable(terminator))
	if len(f.Comment) > 0 {
		var all []string
		for _, c := range f.Comment {
			all = append(all, strconv.Quote(textline.Printable(c)))
		}
		k.add("comment", "["+strings.Join(all, ", ")+"]")
	}
	k.number("line_length", f.Length)
	if f.Check.Sum.Of != nil {
		k.check(f.Check)
	}
	return k
}

// FieldKeys are the lines of a [[channel]] table that say where in its
// instrument's lines it stands.
func FieldKeys(f textline.Field) []string {
	var k keys
	switch {
	case f.Pattern != nil:
		k.text("pattern", f.Pattern.String())
	case f.From > 0:
		k.add("characters", "["+strconv.Itoa(f.From)+", "+strconv.Itoa(f.To)+"]")
	case f.Name != "":
		k.text("field", f.Name)
	default:
		k.number("column", f.Column)
	}
	k.text("unit_text", f.Written)
	k.number("unit_column", f.UnitColumn)
	if f.Decimals != nil {
		k.add("decimals", strconv.Itoa(*f.Decimals))
	}
	k.text("on", f.On)
	k.text("off", f.Off)
	return k
}

// keys are lines of a table.
type keys []string

func (k *keys) add(key, value string) { *k = append(*k, key+" = "+value) }

func (k *keys) text(key, value string) {
	if value != "" {
		k.add(key, strconv.Quote(value))
	}
}

func (k *keys) number(key string, n int) {
	if n != 0 {
		k.add(key, strconv.Itoa(n))
	}
}

func (k *keys) check(c textline.Check) {
	k.text("checksum", c.Sum.Name)
	if c.Form != textline.Hex {
		k.text("checksum_form", string(c.Form))
	}
	k.text("checksum_after", textline.Printable(c.After))
	switch {
	case c.WithPrefix && c.WithAfter:
		k.text("checksum_over", overAll)
	case c.WithPrefix:
		k.text("checksum_over", overFirst)
	case c.WithAfter:
		k.text("checksum_over", overLast)
	}
	if c.LowFirst {
		k.text("checksum_order", "low-first")
	}
}
