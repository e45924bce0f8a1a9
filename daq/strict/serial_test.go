package strict_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"holdbench/daq/strict"
)

func TestSerialNumberThatIsNoneSaysWhy(t *testing.T) {
	const oneLine = ", want one line of printable characters (set the scanner to send no more than Enter after the number)"
	for _, c := range []struct{ serial, pattern, want string }{
		{"", "", `serial number: found nothing, want the unit's serial number`},
		{"HV1-00001\n", "", `serial number: found "HV1-00001\n" with a line break` + oneLine},
		{"HV1\r00001", "", `serial number: found "HV1\r00001" with a line break` + oneLine},
		{"HV1\u202800001", "", `serial number: found "HV1\u202800001" with a line break` + oneLine},
		{"HV1\t00001", "", `serial number: found "HV1\t00001" with a control character ('\t')` + oneLine},
		{"HV1\x0000001", "", `serial number: found "HV1\x0000001" with a control character ('\x00')` + oneLine},
		{"HV1\u200b00001", "", `serial number: found "HV1\u200b00001" with an invisible character ('\u200b')` + oneLine},
		{"HV1\xff", "", `serial number: found "HV1` + "\ufffd" + `" with bytes that are no text (not UTF-8)` + oneLine},
		{" HV1-00001", "", `serial number: found " HV1-00001", want no blanks before or after it`},
		{strings.Repeat("x", 201), "", `serial number: found "` + strings.Repeat("x", 39) + `…" of 201 characters, want at most 200`},
		{"HV2-00001", "HV1-[0-9]{5}", `serial number: found "HV2-00001", want one that matches HV1-[0-9]{5}`},
		{"HV1-000012", "HV1-[0-9]{5}", `serial number: found "HV1-000012", want one that matches HV1-[0-9]{5}`},
		{"ab", "a|b", `serial number: found "ab", want one that matches a|b`},
		{"a", "a)(", "serial number pattern: found \"a)(\", want a regular expression (unexpected ): `a)(`)"},
	} {
		err := strict.CheckSerial(c.serial, c.pattern)
		assert.EqualError(t, err, c.want)
		var fault *strict.Error
		assert.ErrorAs(t, err, &fault)
	}
}

func TestSerialNumberOfAnyPrintableTextPasses(t *testing.T) {
	for _, c := range []struct{ serial, pattern string }{
		{"HV1-00001", "HV1-[0-9]{5}"},
		{"HV1-00001", ""},
		{"../CON. 17/б\"ß\ufffd", ""},
		{strings.Repeat("é", 200), ""},
		{"b", "a|b"},
	} {
		assert.NoError(t, strict.CheckSerial(c.serial, c.pattern), c.serial)
	}
}

func FuzzCheckSerial(f *testing.F) {
	f.Add("HV1-00001", "HV1-[0-9]{5}")
	f.Add("\xff\n", "(")
	f.Fuzz(func(t *testing.T, serial, pattern string) {
		if err := strict.CheckSerial(serial, pattern); err == nil {
			assert.NotContains(t, serial, "\n")
			assert.NotEmpty(t, serial)
		} else {
			assert.True(t, utf8.ValidString(strict.Quote(serial)))
		}
	})
}
