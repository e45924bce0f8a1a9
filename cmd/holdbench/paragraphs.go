package main

import (
	"bytes"
	"io"
)

// paragraphs is a writer of whole lines to w that, where w is a terminal,
// breaks those that are too long for it between words. Elsewhere it is w
// itself, because what reads a file wants a line to be a line.
func paragraphs(w io.Writer) io.Writer {
	if !isTerminal(w) {
		return w
	}
	return &breaker{w: w, width: widthOf(w)}
}

// breaker breaks long lines between words. An unfinished line waits for its
// end.
type breaker struct {
	w     io.Writer
	width int
	begun []byte
}

func (b *breaker) Write(p []byte) (int, error) {
	b.begun = append(b.begun, p...)
	for {
		line, rest, whole := bytes.Cut(b.begun, []byte("\n"))
		if !whole {
			return len(p), nil
		}
		if _, err := io.WriteString(b.w, wrapped(string(line), b.width)+"\n"); err != nil {
			return 0, err
		}
		b.begun = bytes.Clone(rest)
	}
}
