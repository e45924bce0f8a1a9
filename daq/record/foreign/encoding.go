package foreign

import (
	"bytes"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// encoding is how a file's text is coded; one of encodingWords, or empty for
// plain ASCII.
type encoding string

func (e encoding) wide() bool { return e == "utf-16le" || e == "utf-16be" }

// byteOrderMarks begin files of some programs.
var byteOrderMarks = []struct {
	mark []byte
	enc  encoding
}{
	{[]byte("\xef\xbb\xbf"), "utf-8"},
	{[]byte("\xff\xfe"), "utf-16le"},
	{[]byte("\xfe\xff"), "utf-16be"},
}

// findEncoding tells the encoding from a file's first bytes: by a byte order
// mark, by the zero bytes that UTF-16 has in every other place, by whether it is
// valid UTF-8. mark is the number of bytes of the byte order mark.
func findEncoding(head []byte) (enc encoding, mark int) {
	for _, m := range byteOrderMarks {
		if bytes.HasPrefix(head, m.mark) {
			return m.enc, len(m.mark)
		}
	}
	if enc := unmarkedWide(head); enc != "" {
		return enc, 0
	}
	if ascii(head) {
		return "", 0
	}
	// The head may end within a character.
	for cut := 0; cut < utf8.UTFMax && cut < len(head); cut++ {
		if utf8.Valid(head[:len(head)-cut]) {
			return "utf-8", 0
		}
	}
	return "windows-1252", 0
}

func ascii(text []byte) bool {
	for _, c := range text {
		if c >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// unmarkedWide finds UTF-16 without a mark: nearly every character of a CSV
// has a zero byte.
func unmarkedWide(head []byte) encoding {
	var zero [2]int
	for i, c := range head {
		if c == 0 {
			zero[i%2]++
		}
	}
	pairs := len(head) / 2
	switch {
	case pairs < 2:
		return ""
	case zero[1]*10 > pairs*9 && zero[0]*10 < pairs:
		return "utf-16le"
	case zero[0]*10 > pairs*9 && zero[1]*10 < pairs:
		return "utf-16be"
	}
	return ""
}

// decoded returns a reader of UTF-8 for a file after its byte order mark. Text
// of one byte a character stays as it is: all marks and figures are ASCII, and
// names are decoded where they are looked at.
func (e encoding) decoded(r io.Reader) io.Reader {
	switch e {
	case "utf-16le":
		return transform.NewReader(r, unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewDecoder())
	case "utf-16be":
		return transform.NewReader(r, unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewDecoder())
	}
	return r
}

// text returns what bytes from decoded say.
func (e encoding) text(b []byte) string {
	if e == "windows-1252" {
		if out, err := charmap.Windows1252.NewDecoder().Bytes(b); err == nil {
			return string(out)
		}
	}
	return string(bytes.ToValidUTF8(b, []byte("\uFFFD")))
}
