package textline

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
)

// style is an invented instrument: how it writes a pressure and a temperature.
type style struct {
	name  string
	write func(p, t float64) string
	extra []string // lines that stand among the others
	want  Proposal
	units []string // of the number columns
}

func sumOf(t testing.TB, name string) Sum {
	s, ok := SumOf(name)
	require.True(t, ok)
	return s
}

func styles(t testing.TB) []style {
	f := fmt.Sprintf
	star := Check{Sum: sumOf(t, "xor"), Form: Hex, After: "*"}
	etx := Check{Sum: sumOf(t, "xor"), Form: Bytes, After: "\x03", WithAfter: true}
	bare := Check{Sum: sumOf(t, "crc16-modbus"), Form: Hex, LowFirst: true}
	decimal := Check{Sum: sumOf(t, "sum"), Form: Decimal, After: ";"}
	column := func(n int) Column { return Column{Number: true, Field: Field{Column: n}} }
	name := func(n string) Column { return Column{Number: true, Field: Field{Name: n}} }
	fixed := func(a, b int) Column { return Column{Number: true, Field: Field{From: a, To: b}} }
	return []style{
		{"one number", func(p, _ float64) string { return f("%.2f", p) }, nil,
			Proposal{Columns: []Column{column(1)}}, []string{""}},
		{"one number with decimal comma", func(p, _ float64) string { return strings.Replace(f("%.2f", p), ".", ",", 1) }, nil,
			Proposal{Columns: []Column{column(1)}}, []string{""}},
		{"one number and its unit", func(p, _ float64) string { return f("%.2f bar", p) }, nil,
			Proposal{Columns: []Column{column(1)}}, []string{"bar"}},
		{"unit at the number", func(p, t float64) string { return f("%.2fbar;%.1f°C", p, t) }, nil,
			Proposal{Format: Format{Separator: ";"}, Columns: []Column{column(1), column(2)}}, []string{"bar", "°C"}},
		{"semicolons and a header", func(p, t float64) string { return f("%.3f;%.2f", p, t) }, []string{"pressure [bar];temperature [degC]"},
			Proposal{Format: Format{Separator: ";"}, Columns: []Column{column(1), column(2)}}, []string{"bar", "degC"}},
		{"decimal commas", func(p, t float64) string { return strings.ReplaceAll(f("%.3f\t%.2f", p, t), ".", ",") }, nil,
			Proposal{Format: Format{Separator: "\t"}, Columns: []Column{column(1), column(2)}}, []string{"", ""}},
		{"time, commas, comments", func(p, t float64) string { return f("12:30:01,%.3f,%.2f", p, t) }, []string{"# started", "# ended"},
			Proposal{Format: Format{Separator: ",", Comment: []string{"#"}}, Columns: []Column{column(2), column(3)}}, []string{"", ""}},
		{"blanks and units between", func(p, t float64) string { return f("%8.2f bar %6.1f degC", p, t) }, nil,
			Proposal{Format: Format{Separator: " "}, Columns: []Column{column(1), column(3)}}, []string{"bar", "degC"}},
		{"named", func(p, t float64) string { return f("P1=%.2f;T=%.1f", p, t) }, nil,
			Proposal{Format: Format{Separator: ";"}, Columns: []Column{name("P1"), name("T")}}, []string{"", ""}},
		{"named in words", func(p, t float64) string { return f("p = %.2f kPa, T = %.1f C", p, t) }, nil,
			Proposal{Format: Format{Separator: ","}, Columns: []Column{name("p"), name("T")}}, []string{"kPa", "C"}},
		{"a word before", func(p, t float64) string { return f("DATA|%.2f|%.1f|OK", p, t) }, nil,
			Proposal{Format: Format{Separator: "|"}, Columns: []Column{column(2), column(3)}}, []string{"", ""}},
		{"star and XOR", func(p, t float64) string { return star.Line("$", f("M,%.2f,%.1f", p, t)) }, nil,
			Proposal{Format: Format{Separator: ",", Prefix: "$", Check: star}, Columns: []Column{column(2), column(3)}}, []string{"", ""}},
		{"STX, ETX and a byte", func(p, t float64) string { return etx.Line("\x02", f("%+07.2f %+06.1f", p, t)) }, nil,
			Proposal{Format: Format{Separator: " ", Prefix: "\x02", Check: etx}, Columns: []Column{column(1), column(2)}}, []string{"", ""}},
		{"CRC without a mark", func(p, t float64) string { return bare.Line("", f("%.2f;%.1f", p, t)) }, nil,
			Proposal{Format: Format{Separator: ";", Check: bare}, Columns: []Column{column(1), column(2)}}, []string{"", ""}},
		{"sum in digits", func(p, t float64) string { return decimal.Line("", f("%.2f;%.1f", p, t)) }, nil,
			Proposal{Format: Format{Separator: ";", Check: decimal}, Columns: []Column{column(1), column(2)}}, []string{"", ""}},
		{"fixed places", func(p, t float64) string { return f("%+08.2f%+06.1fN", p, t) }, nil,
			Proposal{Columns: []Column{fixed(1, 8), fixed(9, 14)}}, []string{"", ""}},
		{"exponents", func(p, t float64) string { return f("%+.5E,%+.3E", p, t) }, nil,
			Proposal{Format: Format{Separator: ","}, Columns: []Column{column(1), column(2)}}, []string{"", ""}},
	}
}

func TestProposalReadsEveryStyle(t *testing.T) {
	for _, s := range styles(t) {
		t.Run(s.name, func(t *testing.T) {
			var lines []string
			var pressures []float64
			for i := range 24 {
				p, temperature := 97.31+0.37*float64(i), 21.4+0.1*math.Sin(float64(i))
				lines = append(lines, s.write(p, temperature))
				pressures = append(pressures, p)
				if i < len(s.extra) {
					lines = append(lines, s.extra[i])
				}
			}
			got, ok := Propose(lines)
			require.True(t, ok, "%+v", got)
			assert.Equal(t, 24, got.Read)
			assert.Zero(t, got.Garbled)
			assert.Equal(t, len(s.extra), got.Passed)
			assert.Equal(t, s.want.Format.Separator, got.Format.Separator)
			assert.Equal(t, s.want.Format.Prefix, got.Format.Prefix)
			assert.Equal(t, s.want.Format.Comment, got.Format.Comment)
			c, want := got.Format.Check, s.want.Format.Check
			c.Sum.Of, want.Sum.Of = nil, nil
			assert.Equal(t, want, c)
			var numbers []Column
			for _, c := range got.Columns {
				if c.Number {
					numbers = append(numbers, c)
				}
			}
			require.Len(t, numbers, len(s.want.Columns))
			for i, c := range numbers {
				w := s.want.Columns[i].Field
				assert.Equal(t, w, Field{Column: c.Field.Column, Name: c.Field.Name, From: c.Field.From, To: c.Field.To})
				assert.Equal(t, s.units[i], c.Unit)
			}
			// What is proposed reads the values that were written.
			field := numbers[0].Field
			field.Written = numbers[0].Unit
			dst := make([]daq.Signal, 1)
			k := 0
			for _, l := range lines {
				if got.Format.Read(l, []Field{field}, dst) == nil {
					assert.InDelta(t, pressures[k], dst[0].Raw, 0.006)
					k++
				}
			}
			assert.Equal(t, 24, k)
		})
	}
}

func TestNothingIsProposedForNoise(t *testing.T) {
	for name, lines := range map[string][]string{
		"nothing": nil,
		"blank":   {"", "  ", "\r"},
		"words":   {"self test", "ready", "waiting for key"},
		"noise":   {"\x8b\xfe\x01\x13", "\x9c\x11\xe0", "\x00\xf0\x91\x92"},
	} {
		t.Run(name, func(t *testing.T) {
			p, ok := Propose(lines)
			assert.False(t, ok, "%+v", p)
		})
	}
}
