package textline

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// controls are the names of the characters that cannot be printed, in the
// order of their codes.
//
// Source: M ANSI X3.4 (ASCII), ISO/IEC 646.
var controls = strings.Fields("NUL SOH STX ETX EOT ENQ ACK BEL BS HT LF VT FF CR SO SI " +
	"DLE DC1 DC2 DC3 DC4 NAK SYN ETB CAN EM SUB ESC FS GS RS US")

// bracketed is a control character as people write it: <STX>, <0x02>.
var bracketed = regexp.MustCompile(`<(0[xX][0-9A-Fa-f]{2}|[A-Z]{2,3}[1-4]?)>`)

// Characters reads a text in which characters that cannot be printed are
// written by name or code: "<STX>P=" or "<0x02>P=". What stands in brackets
// and is neither stays as it is.
func Characters(text string) string {
	return bracketed.ReplaceAllStringFunc(text, func(b string) string {
		if s, ok := control(b[1 : len(b)-1]); ok {
			return s
		}
		return b
	})
}

func control(name string) (string, bool) {
	if hex, ok := strings.CutPrefix(strings.ToLower(name), "0x"); ok && len(hex) == 2 {
		x, err := strconv.ParseUint(hex, 16, 8)
		return string([]byte{byte(x)}), err == nil
	}
	for code, known := range controls {
		if name == known {
			return string([]byte{byte(code)}), true
		}
	}
	return "", false
}

// Terminator reads what ends a line: "CR", "LF", "CRLF", the name of another
// control character such as "ETX", a code such as "0x03", or a text as
// Characters reads it. It is empty for an empty text.
func Terminator(text string) string {
	if text == "CRLF" {
		return "\r\n"
	}
	if s, ok := control(text); ok && s != "" {
		return s
	}
	return Characters(text)
}

// Printable writes a text so that Characters reads it back.
func Printable(text string) string {
	var b strings.Builder
	for i := range len(text) {
		switch c := text[i]; {
		case int(c) < len(controls):
			b.WriteString("<" + controls[c] + ">")
		case c >= 0x7f:
			fmt.Fprintf(&b, "<0x%02X>", c)
		default:
			b.WriteByte(c)
		}
	}
	return b.String()
}
