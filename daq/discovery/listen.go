package discovery

import (
	"context"
	"errors"
	"strings"
	"time"

	"holdbench/daq/link"
)

// Lines is what was heard on a line to which nothing was sent.
type Lines struct {
	// Framing is the one with which it makes the most sense.
	Framing Framing
	// Texts are whole lines of text, without their ends; nil for none. Every
	// is the time between two of them, the mean, 0 for fewer than two.
	Texts []string
	Every time.Duration
	// Bytes is how many came with that framing, Guess what they seem to be.
	Bytes int
	Guess string
}

// Listen opens a line with one framing after another and waits for text that
// comes unasked; it sends nothing. It stays with the first framing that makes
// lines of text. Whatever is sent shows as bytes of some kind with nearly any
// framing; so when the first two give not one byte, it gives up.
//
// The errors are those of a port that cannot be opened, and link.ErrGone.
// When ctx ends, what was heard so far comes back.
func Listen(ctx context.Context, open func(Framing) (*link.Port, error), framings []Framing, each time.Duration, tell func(Framing)) (Lines, error) {
	var best Lines
	for i, f := range framings {
		if tell != nil {
			tell(f)
		}
		heard, err := listen(ctx, open, f, each)
		if err != nil {
			return best, err
		}
		if len(heard.Texts) > 0 || heard.Bytes > best.Bytes && len(best.Texts) == 0 {
			best = heard
		}
		if len(best.Texts) > 0 || ctx.Err() != nil || i > 0 && best.Bytes == 0 {
			return best, nil
		}
	}
	return best, nil
}

// enoughLines is how many lines need not be waited beyond.
const enoughLines = 12

func listen(ctx context.Context, open func(Framing) (*link.Port, error), f Framing, each time.Duration) (heard Lines, err error) {
	port, err := open(f)
	if err != nil {
		return Lines{}, err
	}
	defer func() { err = errors.Join(err, port.Close()) }()
	heard.Framing = f
	deadline := time.Now().Add(each)
	var over Overhearing
	var all []byte
	var ends []time.Time
	piece := make([]byte, 4096)
	for {
		n, err := port.Read(ctx, piece, deadline)
		all = append(all, piece[:n]...)
		over.Hear(piece[:n])
		heard.Bytes += n
		if n > 0 && strings.ContainsAny(string(piece[:n]), "\r\n") {
			if len(ends) == 0 {
				deadline = deadline.Add(each) // lines come: look at more of them
			}
			ends = append(ends, time.Now())
		}
		if errors.Is(err, link.ErrGone) {
			return heard, err
		}
		if err != nil || len(ends) > enoughLines || len(all) > 1<<18 {
			break
		}
	}
	heard.Guess = over.Guess()
	heard.Texts = textLines(all)
	if n := len(heard.Texts); n > 1 && len(ends) > 1 {
		heard.Every = ends[len(ends)-1].Sub(ends[0]) / time.Duration(len(ends)-1)
	}
	return heard, nil
}

// textLines are the whole lines of text in what came: the first, which may be
// torn, and what has no end are left out. Nil where it is no text.
func textLines(b []byte) []string {
	readable := 0
	for _, c := range b {
		if legible(c) || c >= 0x80 { // degree signs and the like, in any code
			readable++
		}
	}
	high := len(b) - readable
	for _, c := range b {
		if c >= 0x80 {
			high++
		}
	}
	if len(b) == 0 || 10*high > len(b) {
		return nil
	}
	text := strings.ReplaceAll(strings.ReplaceAll(string(b), "\r\n", "\n"), "\r", "\n")
	cut := strings.Split(text, "\n")
	if len(cut) < 3 {
		return nil
	}
	var out []string
	for _, line := range cut[1 : len(cut)-1] {
		if strings.TrimSpace(line) != "" {
			out = append(out, line)
		}
	}
	return out
}
