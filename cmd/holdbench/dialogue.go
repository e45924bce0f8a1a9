package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"holdbench/daq/strict"
)

// dialogue asks a person on a terminal, or takes answers that were given as
// flags, so that a script can say everything that a person would.
type dialogue struct {
	out io.Writer
	// yes takes the offered answer wherever there is one.
	yes bool
	// person says that somebody sits there who can be asked again.
	person bool
	lines  chan string
}

// newDialogue reads answers from in, a line each.
func newDialogue(in io.Reader, out io.Writer, yes, person bool) *dialogue {
	d := &dialogue{out: out, yes: yes, person: person, lines: make(chan string)}
	go func() {
		defer close(d.lines)
		s := bufio.NewScanner(in)
		for s.Scan() {
			d.lines <- s.Text()
		}
	}()
	return d
}

func (d *dialogue) say(format string, args ...any) { fmt.Fprintf(d.out, format+"\n", args...) }

// question is one thing to be answered.
type question struct {
	// flag answers it in a script, e.g. "--port"; key is its part of a flag of
	// several, e.g. "unit" of --channel.
	flag, key string
	text      string
	// offered is the answer that an empty line takes; may itself be empty where
	// none is needed (optional).
	offered  string
	optional bool
	// given is the answer that a flag gave, wasGiven that it did.
	given    string
	wasGiven bool
	// check says what is wrong with an answer; nil takes any.
	check func(answer string) error
}

func (q question) field() string {
	if q.key != "" {
		return q.flag + ": " + q.key
	}
	return q.flag
}

// ask returns the answer. A wrong one from a flag is a *strict.Error; a person
// is told and asked again.
func (d *dialogue) ask(q question) (string, error) {
	if q.wasGiven {
		d.say("%s: %s", q.text, q.given)
		return q.given, q.judged(q.given)
	}
	if d.yes && (q.offered != "" || q.optional) {
		d.say("%s: %s", q.text, q.offered)
		return q.offered, nil
	}
	for {
		offer := ""
		switch {
		case q.offered != "":
			offer = " [" + q.offered + "]"
		case q.optional:
			offer = " [Enter: not now]"
		}
		fmt.Fprintf(d.out, "%s%s: ", q.text, offer)
		answer, ok := <-d.lines
		if !ok {
			d.say("")
			return "", &strict.Error{Field: q.field(), Found: "no answer", Want: "one to: " + q.text}
		}
		if !d.person {
			d.say("%s", answer)
		}
		answer = strings.TrimSpace(answer)
		if answer == "" {
			answer = q.offered
		}
		if answer == "" && q.optional {
			return "", nil
		}
		err := q.judged(answer)
		if err == nil {
			return answer, nil
		}
		if !d.person {
			return "", err
		}
		d.say("  %s", plainly(err))
	}
}

// plainly is what was wrong with an answer, for the person who has the
// question before them: without the flag that would answer it in a script.
func plainly(err error) string {
	var s *strict.Error
	if errors.As(err, &s) && s.File == "" {
		return fmt.Sprintf("found %s, want %s", s.Found, s.Want)
	}
	if inner := errors.Unwrap(err); inner != nil {
		err = inner
	}
	return err.Error()
}

func (q question) judged(answer string) error {
	switch {
	case answer == "" && q.optional:
		return nil
	case answer == "":
		return &strict.Error{Field: q.field(), Found: "nothing", Want: "an answer to: " + strings.TrimSpace(q.text)}
	case q.check == nil:
		return nil
	}
	if err := q.check(answer); err != nil {
		return fmt.Errorf("%s: %w", q.field(), err)
	}
	return nil
}

// agree asks whether to go on; yes alone, or a person who says so, agrees.
func (d *dialogue) agree(flag, text string, offered bool) (bool, error) {
	offer := map[bool]string{true: "yes", false: "no"}[offered]
	answer, err := d.ask(question{flag: flag, text: text, offered: offer, check: func(s string) error {
		if _, ok := yesNo[strings.ToLower(s)]; !ok {
			return fmt.Errorf("found %q, want yes or no", s)
		}
		return nil
	}})
	return yesNo[strings.ToLower(answer)], err
}

var yesNo = map[string]bool{"yes": true, "y": true, "no": false, "n": false}

// until is a context that ends with ctx, or when a person presses Enter.
func (d *dialogue) until(ctx context.Context) (context.Context, func()) {
	ctx, cancel := context.WithCancel(ctx)
	if d.person {
		go func() {
			select {
			case <-d.lines:
				cancel()
			case <-ctx.Done():
			}
		}()
	}
	return ctx, cancel
}
