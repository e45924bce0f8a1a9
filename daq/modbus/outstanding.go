package modbus

import (
	"context"
	"errors"
	"slices"
	"time"
)

// A frame of a serial line says from which slave it comes and how many values
// it brings, but not which question it answers. An answer that is late by many
// time-outs could so be taken for that to the same question asked anew. What
// helps is that a slave answers in order: once a question of another shape is
// answered, nothing that was asked before it is to come any more.

// sent is a request that had no answer.
type sent struct {
	request Request
	at      time.Time
}

// forgotten is after how many time-outs a request without an answer has none
// to come. It bounds what a slave costs that refuses the other shape by
// silence.
const forgotten = 8

// outstanding are the requests, by slave, that may still be answered.
type outstanding map[byte][]sent

// add notes a request that had no answer.
func (o outstanding) add(r Request) { o[r.Address] = append(o[r.Address], sent{r, time.Now()}) }

// settled says that a slave has answered what it was asked last.
func (o outstanding) settled(address byte) { delete(o, address) }

// holds says whether an answer of r's shape may still come; those from before
// since are forgotten.
func (o outstanding) holds(r Request, since time.Time) bool {
	o[r.Address] = slices.DeleteFunc(o[r.Address], func(s sent) bool { return s.at.Before(since) })
	return slices.ContainsFunc(o[r.Address], func(s sent) bool {
		return s.request.Function == r.Function && s.request.ReplyLength() == r.ReplyLength()
	})
}

// part asks, where the answer to r could be taken for one that is late, first
// for another number of the same registers: with its answer, or refusal, all
// late ones are out. What it brings is used for nothing else. The errors are
// those of an exchange.
func (c *Client) part(ctx context.Context, r Request) error {
	since := time.Now().Add(-forgotten * c.port.Timeout())
	if r.Writes() || !c.open.holds(r, since) {
		return nil
	}
	m, step := r, 1
	if r.coils() {
		step = 8 // to another number of bytes
	}
	for count := step; count <= most[r.Function]; count += step {
		m.Count = uint16(count)
		m.Start = uint16(min(int(r.Start), 1<<16-count))
		if !c.open.holds(m, since) {
			break
		}
	}
	_, err := c.exchange(ctx, m)
	if x := Exception(0); err != nil && !errors.As(err, &x) {
		c.port.Judge(verdict(err))
		return err
	}
	c.port.Judge("answer: no late one is to come")
	return c.hush(ctx)
}
