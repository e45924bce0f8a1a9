package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"holdbench/daq/bench"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/textline"
)

// identify asks instruments that answer questions in text who they are.
func (b *newBench) identify(ctx context.Context, p onePort) error {
	b.say("\nA measuring instrument that is asked in text answers *IDN? (IEEE 488.2) with who it is.")
	ok, err := b.agree("--idn", "Send *IDN? at each of the usual framings?", b.flags.idn)
	if err != nil || !ok {
		return err
	}
	for _, f := range b.framings(p, discovery.TextFramings) {
		said, err := b.dialogueWith(ctx, p, f, "*IDN?", 1)
		if err != nil {
			return mended(err)
		}
		if len(said) > 0 {
			b.say("it answers%s: %s", at(p, f), said[0])
			return b.asked(ctx, p, f, said[0])
		}
	}
	b.say("nobody answered it")
	return nil
}

// samples is how many replies show how they are built.
const samples = 10

// asked deals with an instrument that has said who it is.
func (b *newBench) asked(ctx context.Context, p onePort, f discovery.Framing, identity string) error {
	b.say("Its manual says by which question it gives a reading, e.g. READ?, FETC? or MEAS:VOLT:DC?.")
	query, err := b.ask(question{flag: "--query", text: fmt.Sprintf("Question that I may send %d times", samples), optional: true, given: b.flags.query, wasGiven: b.flags.query != "",
		check: func(s string) error {
			if strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r > '~' }) {
				return fmt.Errorf("found %q, want printable characters", s)
			}
			return nil
		}})
	if err != nil || query == "" {
		return err
	}
	replies, err := b.dialogueWith(ctx, p, f, query, samples)
	if err != nil {
		return mended(err)
	}
	if len(replies) == 0 {
		b.say("no answer to it")
		return nil
	}
	proposal, ok := textline.Propose(replies)
	if !ok {
		b.say("it answers %q, in which no numbers are found", replies[0])
		return nil
	}
	in := bench.DraftInstrument{Name: b.freeInstrument("text"), Kind: bench.TextAsked, Link: p.link, Address: -1,
		Keys: append([]string{"query = " + strconv.Quote(query)}, bench.FormatKeys(proposal.Format, "")...),
		Note: fmt.Sprintf("Says of itself %q, and answers e.g. %q.", identity, replies[len(replies)-1])}
	return b.textInstrument(p, f, in, proposal, time.Second)
}

// dialogueWith sends a question some times and returns the answers that can be
// read; none where the first has no answer.
func (b *newBench) dialogueWith(ctx context.Context, p onePort, f discovery.Framing, query string, times int) (replies []string, err error) {
	port, err := b.open(p, f)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, port.Close()) }()
	for range times {
		began := time.Now()
		reply, err := replyTo(ctx, port, query)
		if err != nil {
			return nil, err
		}
		if reply == "" {
			return replies, ctx.Err()
		}
		replies = append(replies, reply)
		time.Sleep(time.Until(began.Add(b.pace)))
	}
	return replies, ctx.Err()
}

// replyTo sends a question and waits for one line of text, empty for none.
func replyTo(ctx context.Context, port *link.Port, query string) (string, error) {
	port.Discard()
	deadline := time.Now().Add(time.Second)
	if err := port.Write(ctx, []byte(query+"\n"), deadline); err != nil {
		return "", err
	}
	var all []byte
	piece := make([]byte, 512)
	for {
		n, err := port.Read(ctx, piece, deadline)
		all = append(all, piece[:n]...)
		if errors.Is(err, link.ErrGone) {
			return "", err
		}
		if err != nil || strings.ContainsAny(string(all), "\r\n") {
			break
		}
	}
	text := strings.TrimSpace(string(all))
	if strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r > '~' }) {
		return "", nil
	}
	return text, nil
}
