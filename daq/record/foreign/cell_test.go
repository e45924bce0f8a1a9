package foreign

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCellsAreParted(t *testing.T) {
	for text, want := range map[string]string{
		`a;b;c`:            `a|b|c`,
		`a;;c;`:            `a||c|`,
		` "a;b" ; " c " ;`: `a;b|c|`,
		`"a""b";c`:         `a""b|c`,
		`"open;b`:          `"open|b`,
		`a"b;c`:            `a"b|c`,
		`"a" x;b`:          `a|b`,
		"a\r":              `a`,
		"":                 ``,
	} {
		var got []string
		for _, cell := range splitCells(nil, []byte(text), ';') {
			got = append(got, string(cell))
		}
		assert.Equal(t, want, strings.Join(got, "|"), text)
	}
}

func TestBlanksAreTakenOff(t *testing.T) {
	for text, want := range map[string]string{
		" a\t": "a", "\u00a0a\u00a0": "a", "\xa0a\xa0": "a", "\u00a0": "", "\xa0": "", "à": "à", " à ": "à", "\xa0 \u00a01 \xa0 ": "1",
	} {
		assert.Equal(t, want, string(trim([]byte(text))), "%q", text)
	}
}

func TestCellsLookLikeWhatTheyAre(t *testing.T) {
	for want, texts := range map[class][]string{
		isBlank:   {"", "OL", "-OL", "ol", "----", "-", "NaN", "#N/A", "null", "***", "??", "Overload"},
		isNumber:  {"1", "-1.5", "+.5", "1,234.5", "1.234,5", "1 234", "1'234", "1e5", "\u22123", "5.", "1\u00a0000"},
		isDaytime: {"12:30", "12:30:15", "12:30:15.250", "12:30:15,25", "1:02:03 PM", "123:00:00", "00:01.5"},
		isDay:     {"2026-03-04", "04.03.2026", "3/4/26", "04-Mar-2026"},
		isStamp:   {"2026-03-04T12:30:15Z", "04.03.2026 12:30", "3/4/2026 1:02:03 PM", "2026-03-04 12:30:15.123+01:00"},
		isText:    {"high", "12 bar", "1:2:3:4", "a1", "2026-03-04 noon", "12:61", "1e", "x2.5"},
	} {
		for _, text := range texts {
			assert.Equal(t, want, classify([]byte(text), nil), text)
		}
	}
}
