package modbus

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"holdbench/daq/link"
)

// A frame of a serial line says from which slave it comes and how many values
// it brings, but not which question it answers. An answer that is late by many
// time-outs could so be taken for that to the same question asked anew. What
// helps is that a slave answers in order: once a question of another shape is
// answered, nothing that was asked before it is to come any more.

// sent is a request that was not seen to be answered.
type sent struct {
	request Request
	at      time.Time
}

// forgotten is after how many time-outs a request without an answer has none
// to come. It bounds what a slave costs that refuses the other shape by
// silence.
const forgotten = 16

// outstanding are the requests, by slave and in their order, to which an
// answer may still come.
type outstanding map[byte][]sent

// asked notes a request that goes out.
func (o outstanding) asked(r Request) { o[r.Address] = append(o[r.Address], sent{r, time.Now()}) }

// answered takes in an answer that r may have brought. It is that to the first
// request to which it fits, or to a later one: up to that first one nothing is
// to come. A refusal does not say how much was asked for and fits whatever the
// function.
func (o outstanding) answered(r Request, refused bool) {
	open := o[r.Address]
	first := slices.IndexFunc(open, func(s sent) bool {
		return s.request.likeTo(r) || refused && s.request.Function == r.Function
	})
	o[r.Address] = slices.Delete(open, 0, first+1)
}

// holds says whether an answer that looks like one to r may still come; those
// from before since are forgotten.
func (o outstanding) holds(r Request, since time.Time) bool {
	o[r.Address] = slices.DeleteFunc(o[r.Address], func(s sent) bool { return s.at.Before(since) })
	return slices.ContainsFunc(o[r.Address], func(s sent) bool { return s.request.likeTo(r) })
}

// doubted says whether the answer that r, the last one asked, had just now may
// be that to an earlier request: then r is still open.
func (o outstanding) doubted(r Request) bool { return len(o[r.Address]) > 0 }

// likeTo says that the answers to two requests of one slave look alike.
func (r Request) likeTo(other Request) bool {
	if r.Writes() && r.Function == other.Function {
		return bytes.Equal(r.Reply(nil), other.Reply(nil))
	}
	return r.Function == other.Function && r.ReplyLength() == other.ReplyLength()
}

// other is a question like r whose answer looks different: for one register,
// or eight coils, and for twice as many where that is what r asks for. A slave
// may refuse it only then.
func (r Request) other() Request {
	count := 1
	if r.coils() {
		count = 8
	}
	o := r
	o.Count = uint16(count)
	if o.likeTo(r) {
		o.Count *= 2
	}
	o.Start = uint16(min(int(r.Start), 1<<16-int(o.Count)))
	return o
}

// doubt turns an answer to r that may be that to an earlier request into none:
// one to a write, which nothing parts, and a refusal, which fits any question.
func (c *Client) doubt(r Request, err error) error {
	x := Exception(0)
	if err != nil && !errors.As(err, &x) || !c.open.doubted(r) {
		return err
	}
	return fmt.Errorf("%w: %w", ErrForeign, link.ErrTimeout)
}

// part asks, where the answer to r could be taken for one that is late, a
// question of another shape first, and again while its answer may be that to an
// earlier one: with them all late ones are out. What it brings is used for
// nothing else. It takes no longer than a time-out and an exchange. The errors
// are those of an exchange.
func (c *Client) part(ctx context.Context, r Request) error {
	since := time.Now().Add(-forgotten * c.port.Timeout())
	if !c.open.holds(r, since) || r.Writes() {
		return nil
	}
	for deadline := time.Now().Add(c.port.Timeout()); ; {
		_, err := c.exchange(ctx, r.other())
		if x := Exception(0); err != nil && !errors.As(err, &x) {
			c.port.Judge(verdict(err))
			return err
		}
		open := c.open.holds(r, since)
		switch {
		case !open:
			c.port.Judge("answer: no late one is to come")
			return c.hush(ctx)
		case time.Now().After(deadline):
			c.port.Judge("answer to which question nobody can tell")
			return fmt.Errorf("%w: %w", ErrForeign, link.ErrTimeout)
		}
		c.port.Judge("answer: a late one may still come")
		if err := c.hush(ctx); err != nil {
			return err
		}
	}
}
