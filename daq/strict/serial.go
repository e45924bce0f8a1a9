package strict

import (
	"errors"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// MaxSerial is the longest serial number, in characters.
const MaxSerial = 200

// CheckSerial checks a serial number as it comes from a scanner or a
// keyboard. It must not be empty, hold control or invisible characters, have
// blanks at either end or be longer than MaxSerial characters; and it must
// match pattern, a regular expression, as a whole (an empty pattern lets
// everything through). The fault is an *Error without a file; it quotes what
// was found, shortened.
func CheckSerial(text, pattern string) error {
	fault := func(found, want string) error {
		return &Error{Field: "serial number", Found: found, Want: want}
	}
	switch bad := firstUnprintable(text); {
	case text == "":
		return fault("nothing", "the unit's serial number")
	case bad != "":
		return fault(Quote(text)+" with "+bad, "one line of printable characters (set the scanner to send no more than Enter after the number)")
	case strings.TrimSpace(text) != text:
		return fault(Quote(text), "no blanks before or after it")
	case utf8.RuneCountInString(text) > MaxSerial:
		return fault(Quote(text)+" of "+strconv.Itoa(utf8.RuneCountInString(text))+" characters", "at most "+strconv.Itoa(MaxSerial))
	case pattern == "":
		return nil
	}
	whole, err := WholePattern(pattern)
	if err != nil {
		return &Error{Field: "serial number pattern", Found: Quote(pattern), Want: "a regular expression (" + err.Error() + ")"}
	}
	if !whole.MatchString(text) {
		return fault(Quote(text), "one that matches "+pattern)
	}
	return nil
}

// WholePattern compiles a regular expression (RE2) so that it matches whole
// texts only. The error says in a few words what is wrong with it.
func WholePattern(pattern string) (*regexp.Regexp, error) {
	_, err := regexp.Compile(pattern) // so that "a)(b" is not mended by the brackets
	if err != nil {
		return nil, errors.New(strings.TrimPrefix(err.Error(), "error parsing regexp: "))
	}
	return regexp.Compile(`\A(?:` + pattern + `)\z`)
}

// firstUnprintable names the first character that does not show: it would
// make two serial numbers look alike, or break a line.
func firstUnprintable(text string) string {
	for i, r := range text {
		switch {
		case r == utf8.RuneError && !strings.HasPrefix(text[i:], "\uFFFD"):
			return "bytes that are no text (not UTF-8)"
		case r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029':
			return "a line break"
		case unicode.IsControl(r):
			return "a control character (" + strconv.QuoteRuneToASCII(r) + ")"
		case unicode.Is(unicode.Cf, r):
			return "an invisible character (" + strconv.QuoteRuneToASCII(r) + ")"
		}
	}
	return ""
}

// quotedLength is the number of characters of a found text that a message
// shows.
const quotedLength = 40

// Quote returns text in quotes, with what does not show escaped, shortened to
// 40 characters.
func Quote(text string) string {
	short := []rune(text)
	if len(short) > quotedLength {
		short = append(short[:quotedLength-1:quotedLength-1], '…')
	}
	return strconv.Quote(string(short))
}
