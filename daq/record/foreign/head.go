package foreign

import (
	"bytes"
	"errors"
	"io"

	"holdbench/daq/strict"
)

// headSize is how much of a file is looked at to find its layout, in bytes;
// also the longest line.
const headSize = 256 << 10

// head is a file's beginning.
type head struct {
	name   string
	enc    encoding
	mark   int    // length of the byte order mark
	bareCR bool   // lines end with a carriage return alone
	text   []byte // whole lines, decoded
}

// fault is an error of the file.
func (h *head) fault(line int, field, found, want string) error {
	return &strict.Error{File: h.name, Line: line, Field: field, Found: found, Want: want}
}

// readHead reads the file's beginning and finds its encoding.
func readHead(name string, r io.ReaderAt, size int64, s Settings) (*head, error) {
	raw := make([]byte, min(size, headSize))
	n, err := r.ReadAt(raw, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, cannotRead(name, err)
	}
	raw = raw[:n]
	h := &head{name: name}
	h.enc, h.mark = findEncoding(raw)
	if given := encoding(s.Encoding); given != "" {
		if given != h.enc {
			h.mark = 0
		}
		h.enc = given
	}
	if what := binary(raw, h.enc); what != "" {
		return nil, h.fault(0, "", what, wantFile+" (export or save it as CSV)")
	}
	return h, h.decode(raw[h.mark:], int64(n) == size)
}

func cannotRead(name string, err error) error {
	return &strict.Error{File: name, Found: "a file that cannot be read (" + err.Error() + ")", Want: wantFile, Cause: err}
}

// decode takes the raw beginning; whole says that it is the whole file.
func (h *head) decode(raw []byte, whole bool) error {
	if h.enc.wide() {
		raw = raw[:len(raw)&^1]
	}
	text, err := io.ReadAll(h.enc.decoded(bytes.NewReader(raw)))
	if err != nil {
		return cannotRead(h.name, err)
	}
	if bytes.IndexByte(text, '\n') < 0 && bytes.IndexByte(text, '\r') >= 0 {
		h.bareCR = true
		bareToLines(text)
	}
	end := bytes.LastIndexByte(text, '\n') + 1
	switch {
	case len(bytes.TrimSpace(text)) == 0:
		return h.fault(0, "", "a file of blanks", wantFile)
	case whole:
		end = len(text)
	case end == 0:
		return h.fault(1, "", "a line of more than 256 KB", wantFile+", a row a line")
	}
	h.text = text[:end]
	return nil
}

// bareToLines turns carriage returns into line feeds.
func bareToLines(text []byte) {
	for i, c := range text {
		if c == '\r' {
			text[i] = '\n'
		}
	}
}

// headLine is one record of the head, as it stands, and the line on which it
// begins. Records below the header are single lines.
type headLine struct {
	line int
	text []byte
}

// records splits the head, joining lines where a quoted cell has a line break.
func (h *head) records() []headLine {
	var out []headLine
	rest := h.text
	for line := 1; len(rest) > 0; {
		text, lines := cutRecord(rest)
		out = append(out, headLine{line, bytes.TrimRight(text, "\r\n")})
		rest = rest[len(text):]
		line += lines
	}
	return out
}

// longestHeading is over how many lines one record may run.
const longestHeading = 8

// cutRecord returns the first record with its line end, and its lines.
func cutRecord(text []byte) ([]byte, int) {
	first := lineLength(text)
	end, lines := first, 1
	for openQuote(text[:end]) && end < len(text) && lines < longestHeading {
		end += lineLength(text[end:])
		lines++
	}
	if openQuote(text[:end]) {
		return text[:first], 1 // a stray quote
	}
	return text[:end], lines
}

// lineLength is the length of the first line with its end.
func lineLength(text []byte) int {
	if i := bytes.IndexByte(text, '\n'); i >= 0 {
		return i + 1
	}
	return len(text)
}

// openQuote reports whether a cell that begins with a quote is still open at
// the end, whatever the delimiter.
func openQuote(text []byte) bool {
	if bytes.IndexByte(text, '"') < 0 {
		return false
	}
	quoted, start := false, true
	for _, c := range text {
		switch {
		case c == '"' && (quoted || start):
			quoted = !quoted
			start = false
		case !quoted:
			start = c == ',' || c == ';' || c == '\t' || c == '\n'
		}
	}
	return quoted
}
