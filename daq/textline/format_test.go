package textline

import (
	"math"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
)

func unitOf(t testing.TB, text string, q si.Quantity) si.Unit {
	u, err := si.ParseUnit(text, q)
	require.NoError(t, err)
	return u
}

var (
	bad    = math.Inf(-1) // the line is garbled
	passed = math.Inf(1)  // the line costs nothing
	no     = math.NaN()   // the signal is Invalid
)

func TestFieldsOfEveryForm(t *testing.T) {
	bar, celsius := unitOf(t, "bar", si.Pressure), unitOf(t, "°C", si.Temperature)
	two := 2
	for name, c := range map[string]struct {
		format Format
		field  Field
		lines  map[string]float64
	}{
		"columns": {Format{Separator: ";"}, Field{Column: 2, Unit: bar}, map[string]float64{
			"1;2.5": 2.5, "1; 2.5 ;9": 2.5, "1;2,5": 2.5, "1": bad, "1;x": bad, "p;q;rest": passed, "": bad}},
		"several characters part columns": {Format{Separator: "||"}, Field{Column: 2}, map[string]float64{
			"1||2.5": 2.5, "1|2.5": bad}},
		"one column": {Format{}, Field{Column: 1}, map[string]float64{"2.5": 2.5, " 2.5 ": 2.5, "2,5": 2.5, "2.5 3.5": bad}},
		"fixed places": {Format{}, Field{From: 3, To: 8}, map[string]float64{
			"P:+12.50bar": 12.5, "P:  12.5": 12.5, "P: 12": bad, "P:      x": no}},
		"a degree sign of one byte and of two": {Format{Separator: " "}, Field{From: 4, To: 8}, map[string]float64{
			"°C 21.50": 21.5, "\xb0C 21.50": 21.5}},
		"named": {Format{Separator: ";"}, Field{Name: "P1"}, map[string]float64{
			"P1=12.3;T=21.5": 12.3, "T=21.5; P1 = 12.3": 12.3, "P1:12.3": 12.3, "P1 12.3": 12.3, "P10=4;P1=12.3": 12.3,
			"T=21.5": bad, "P1=1;P1=2": bad, "P1=12.3P1=12.4;T=1": bad, "P112.3": bad}},
		"pattern": {Format{}, Field{Pattern: regexp.MustCompile(`P\s*=\s*([-+.\d]+)`)}, map[string]float64{
			"T=1 P = -12.3 ok": -12.3, "T=1": bad, "P=1 P=2": bad, "P=1.2.3": bad}},
		"prefix and suffix": {Format{Prefix: "<1:", Suffix: ">"}, Field{Column: 1}, map[string]float64{
			"<1:2.5>": 2.5, "<2:2.5>": bad, "<1:2.5": bad, "2.5>": bad, "<1:2.<1:2.5>": bad, "\n<1:2.5>\r": 2.5}},
		"comments": {Format{Comment: []string{"#", "Time"}}, Field{Column: 1}, map[string]float64{
			"# 12.5": passed, "Time: 12": passed, "12.5": 12.5}},
		"length": {Format{Length: 6}, Field{Column: 1}, map[string]float64{"112.34": 112.34, "12.34": bad, "1112.34": bad}},
		"decimals": {Format{}, Field{Column: 1, Decimals: &two}, map[string]float64{
			"112.34": 112.34, "112.3": bad, "112": bad, "112.345": bad, "OL": no}},
		"units behind the number": {Format{Separator: ";"}, Field{Column: 1, Unit: bar}, map[string]float64{
			"12.5 bar": 12.5, "12.5bar": 12.5, "1250 kPa": 12.5, "1.25MPa": 12.5, "12.5 °C": no, "12.5 V": no,
			"12.5 zork": bad, "12.5;kPa": 0.125, "12.5;bar": 12.5, "12.5;OK": 12.5, "12.5;": 12.5}},
		"units of temperature": {Format{Separator: " "}, Field{Column: 1, Unit: celsius}, map[string]float64{
			"21.5 C": 21.5, "21.5 degC": 21.5, "294.65 K": 21.5, "70.7 F": 21.5, "21.5": 21.5}},
		"a unit of its own": {Format{}, Field{Column: 1, Unit: bar, Written: "BARG"}, map[string]float64{
			"12.5 BARG": 12.5, "12.5": 12.5, "12.5 bar": 12.5, "1250 kPa": no, "12.5 PSIG": bad}},
		"a unit's own column": {Format{Separator: ";"}, Field{Column: 1, Unit: bar, UnitColumn: 3}, map[string]float64{
			"12.5;x;bar": 12.5, "1250;x;kPa": 12.5, "12.5;x;V": no, "12.5;x;": no, "12.5;x": bad, "12.5;x;zork": bad}},
		"a number that is scaled afterwards": {Format{}, Field{Column: 1, Unit: bar, Scaled: true}, map[string]float64{
			"12.5": 12.5, "12.5 bar": no, "12.5 kPa": no}},
		"bare counts": {Format{}, Field{Column: 1}, map[string]float64{"12": 12, "12 bar": no}},
		"a state in words": {Format{Separator: ";"}, Field{Column: 2, On: "CLOSED", Off: "OPEN"}, map[string]float64{
			"1;CLOSED": 1, "1;open": 0, "1;OPE": bad, "1;": bad, "1;OPENCLOSED": bad}},
		"a state in numbers": {Format{Separator: ";"}, Field{Column: 2, On: "1", Off: "0"}, map[string]float64{
			"1;1": 1, "1;0": 0, "1;01": 1, "1;2": bad, "1;10": bad, "1;1 bar": bad}},
	} {
		t.Run(name, func(t *testing.T) {
			for line, want := range c.lines {
				dst := []daq.Signal{{Raw: 7, Health: daq.Stuck}}
				err := c.format.Read(line, []Field{c.field}, dst)
				switch {
				case math.IsInf(want, -1):
					require.Error(t, err, "%q", line)
					require.NotErrorIs(t, err, errPassedOver, "%q", line)
				case math.IsInf(want, 1):
					require.ErrorIs(t, err, errPassedOver, "%q", line)
				case math.IsNaN(want):
					require.NoError(t, err, "%q", line)
					assert.NotEqual(t, daq.Healthy, dst[0].Health, "%q", line)
					assert.True(t, math.IsNaN(dst[0].Raw), "%q", line)
				default:
					require.NoError(t, err, "%q", line)
					assert.Equal(t, daq.Healthy, dst[0].Health, "%q", line)
					assert.InDelta(t, want, dst[0].Raw, 1e-9, "%q", line)
				}
			}
		})
	}
}

func TestControlCharactersByName(t *testing.T) {
	for text, want := range map[string]string{
		"<STX>P": "\x02P", "<0x02>P<ETX>": "\x02P\x03", "<1:": "<1:", "<>": "<>", "<XYZ>": "<XYZ>", "a<DC1>": "a\x11", "": "",
	} {
		assert.Equal(t, want, Characters(text))
		assert.Equal(t, want, Characters(Printable(want)))
	}
	for text, want := range map[string]string{"CR": "\r", "LF": "\n", "CRLF": "\r\n", "ETX": "\x03", "0x1E": "\x1e", ";": ";", "<CR><LF>": "\r\n", "": ""} {
		assert.Equal(t, want, Terminator(text))
	}
}
