package bench_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/textline"
)

// Keys that were written are read back to what they were written from.
func TestTextKeysAreReadBack(t *testing.T) {
	sum := func(name string) textline.Sum {
		s, ok := textline.SumOf(name)
		require.True(t, ok)
		return s
	}
	two := 2
	for name, c := range map[string]struct {
		format     textline.Format
		terminator string
		field      textline.Field
	}{
		"plain": {textline.Format{Separator: ";"}, "", textline.Field{Column: 2}},
		"names": {textline.Format{Separator: " | ", Prefix: "$", Suffix: ">", Comment: []string{"#", "//"}, Length: 30}, "\r\n",
			textline.Field{Name: "P1", Written: "PSIG", Decimals: &two}},
		"bytes": {textline.Format{Separator: "\t", Prefix: "\x02", Check: textline.Check{Sum: sum("xor"), Form: textline.Bytes, After: "\x03", WithPrefix: true, WithAfter: true}}, "\r",
			textline.Field{Column: 1, UnitColumn: 2}},
		"CRC": {textline.Format{Separator: " ", Check: textline.Check{Sum: sum("crc16-modbus"), Form: textline.Hex, After: "*", LowFirst: true}}, "",
			textline.Field{From: 2, To: 9}},
		"pattern": {textline.Format{Check: textline.Check{Sum: sum("sum"), Form: textline.Decimal, After: ";", WithPrefix: true}}, "\x03",
			textline.Field{Pattern: regexp.MustCompile(`P *= *([-+.0-9]+)"?'?`)}},
	} {
		t.Run(name, func(t *testing.T) {
			text := broken(t, small,
				`separator = ";"`, strings.Join(bench.FormatKeys(c.format, c.terminator), "\n"),
				`column = 1`, strings.Join(bench.FieldKeys(c.field), "\n"),
				"[[channel]]\nname = \"room\"\nquantity = \"temperature\"\ninstrument = \"probe\"\ncolumn = 2\nraw_unit = \"°C\"\n", "",
				"temperature_channel = \"room\"", "")
			b, err := bench.Parse("bench.toml", []byte(text))
			require.NoError(t, err)
			format, terminator := b.Instruments[1].Format(), b.Instruments[1].Text.Terminator
			assert.Equal(t, c.terminator, terminator)
			assert.Equal(t, c.format.Check.Sum.Name, format.Check.Sum.Name)
			format.Check.Sum, c.format.Check.Sum = textline.Sum{}, textline.Sum{}
			assert.Equal(t, c.format, format)
			body, _, _ := b.Channel("body")
			field := body.TextField()
			field.Unit = c.field.Unit
			assert.Equal(t, c.field, field)
		})
	}
}
