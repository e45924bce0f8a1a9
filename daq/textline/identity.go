package textline

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// longestIdentity is how much of an identity is kept, in characters.
const longestIdentity = 200

// ErrOther: the instrument that answers is not the one that is meant: another
// one than before, or one whose identity is not what it must be. Nothing is
// read of it, for it has another transducer and another calibration. It comes
// wrapped with link.ErrTimeout, because nothing that could be used came.
var ErrOther = errors.New("another instrument answers")

// introduce sets the instrument up when the port was opened, and asks what it
// is then and when it did not answer.
func (a *Asked) introduce(ctx context.Context) error {
	if a.introduced && a.opened == a.line.opened {
		return nil
	}
	if err := a.line.settle(ctx); err != nil {
		return a.line.gone(err)
	}
	if opened := a.line.opened; a.opened != opened {
		a.memory = make([]memory, len(a.config.Queries))
		a.dumb, a.said, a.owed = false, false, time.Time{}
		for _, command := range a.config.Setup {
			if err := a.line.tell(ctx, command, a.config.QueryTerminator); err != nil {
				return err
			}
		}
		a.opened = opened
	}
	if err := a.paid(ctx); err != nil {
		return err
	}
	if a.config.Identify != "" && !a.dumb {
		if err := a.identify(ctx); err != nil {
			return err
		}
	}
	a.introduced = true
	return nil
}

// owes notes that a reply is owed before anything else may be asked.
func (a *Asked) owes() {
	a.owed = time.Now().Add((patience - 1) * a.line.port.Timeout()) // one has passed
}

// paid waits for a reply that is owed: two time-outs, and then it fails, until
// it is clear that none will come.
func (a *Asked) paid(ctx context.Context) error {
	if a.owed.IsZero() {
		return nil
	}
	until := time.Now().Add(2 * a.line.port.Timeout())
	over := !until.Before(a.owed)
	if over {
		until = a.owed
	}
	came := false
	err := a.line.await(ctx, query{lines: a.splitter(), take: func(line string) error {
		if a.identity != "" && printed(line) != a.identity {
			came = true
			return errLate
		}
		return nil
	}}, until)
	switch {
	case err == nil:
		a.line.count(func(c *AskedCounts) { c.Late++ })
		a.owed = time.Time{}
		return nil
	case !errors.Is(err, link.ErrTimeout):
		return err
	case came: // it answers: what is owed comes behind this
		a.owes()
	case over:
		a.owed = time.Time{}
		return nil
	}
	return fmt.Errorf("%w, still listening for a late one: %w", ErrNoReply, err)
}

// identify asks what the instrument is. What is new is believed when it was
// said twice. No answer is an error only where there was one before, or one is
// required.
func (a *Asked) identify(ctx context.Context) error {
	before := a.identity
	for range again {
		said, err := a.askIdentity(ctx, before)
		switch {
		case errors.Is(err, link.ErrTimeout) && a.identity == "" && a.config.Identity == "":
			return nil
		case err != nil:
			a.owes()
			return fmt.Errorf("query %q: %w", a.config.Identify, err)
		case said == before:
			return a.identified(said)
		}
		before = said
	}
	return fmt.Errorf("query %q: %w (each time another answer): %w", a.config.Identify, ErrGarbled, link.ErrTimeout)
}

// askIdentity asks once; expected is the answer that is known to be one.
func (a *Asked) askIdentity(ctx context.Context, expected string) (said string, err error) {
	_, err = a.line.ask(ctx, query{
		text: a.config.Identify, end: a.config.QueryTerminator, lines: a.splitter(),
		take: func(line string) error {
			line = printed(line)
			switch {
			case expected != "" && line == expected:
			case a.reads(line) && !identityLike(line):
				return errLate
			case !strings.ContainsFunc(line, letter):
				return fmt.Errorf("%q is no identity", line)
			}
			said = line
			return nil
		},
	})
	return said, err
}

// identityLike says whether a line is built like the answer to *IDN?: four
// fields, of which the first, the maker, is no number. [1] 10.14.
func identityLike(line string) bool {
	fields := strings.Split(line, ",")
	_, number := parseNumber(strings.TrimSpace(fields[0]), false)
	return len(fields) == 4 && !number
}

// reads says whether a line is a reply to one of the queries.
func (a *Asked) reads(line string) bool {
	for _, q := range a.config.Queries {
		if a.config.Format.Read(line, q.Fields, make([]daq.Signal, len(q.Fields))) == nil {
			return true
		}
	}
	return false
}

// printed is a line as people can read it.
func printed(line string) string {
	line = Printable(strings.TrimSpace(strings.Trim(line, "\x00")))
	if len(line) > longestIdentity {
		line = line[:longestIdentity] + "…"
	}
	return line
}

// Identity is what the instrument said that it is, empty for nothing. It is to
// be asked for on the goroutine that samples, or after it.
func (a *Asked) Identity() string { return a.identity }

func (a *Asked) subject() string { return "identity of " + a.config.Name }

// identified takes in what the instrument says that it is.
func (a *Asked) identified(said string) error {
	meant := ""
	switch {
	case a.identity != "" && said != a.identity:
		meant = fmt.Sprintf("%q was", a.identity)
	case !strings.Contains(said, a.config.Identity):
		meant = fmt.Sprintf("one with %q is meant", a.config.Identity)
	}
	if meant != "" {
		err := fmt.Errorf("%w: %q, where %s", ErrOther, said, meant)
		if a.stranger != said {
			a.stranger = said
			a.news = append(a.news, daq.Event{Kind: daq.Fault, Subject: a.config.Name, Text: err.Error() + "; nothing is read of it"})
		}
		return fmt.Errorf("%w: %w", err, link.ErrTimeout)
	}
	a.stranger = ""
	if !a.said || said != a.identity {
		a.news = append(a.news, daq.Event{Kind: daq.Note, Subject: a.subject(), Text: said})
	}
	a.identity, a.said = said, true
	return nil
}

// known notes of an instrument that answers queries, but not what it is, that
// it does not.
func (a *Asked) known() {
	if a.said || a.config.Identify == "" {
		return
	}
	a.dumb, a.said = true, true
	a.news = append(a.news, daq.Event{Kind: daq.Note, Subject: a.subject(), Text: fmt.Sprintf("no answer to %s", a.config.Identify)})
}
