package textline

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// Query is one question and which signals its reply holds.
type Query struct {
	// Text is what is sent, without its end.
	Text string
	// Fields of the reply; Signals is which signal of the instrument each is.
	Fields  []Field
	Signals []int
}

// AskConfig says how an instrument is asked.
type AskConfig struct {
	// Name stands in events.
	Name string
	// Format and Terminator of the replies, as of a stream's lines.
	Format     Format
	Terminator string
	// QueryTerminator is sent behind each query; empty: LF.
	QueryTerminator string
	Queries         []Query
	// Setup is sent once when the port was opened.
	Setup []string
	// Identify asks what the instrument is: then, and whenever it did not
	// answer. Empty: it is not asked.
	Identify string
	// Identity is what the answer to that must contain; empty: anything.
	Identity string
}

// Asked is an instrument that answers queries. It is used by one goroutine.
//
// The reply to a query is never taken for that to the next one. When a query
// has no answer, the line is listened to for as long again as a reply may
// take, and then the instrument is asked what it is: as it answers in order,
// whatever comes before the answer to that is late. When that has no answer
// either, or the instrument does not know the question, it is asked nothing
// until a reply has come after all, or patience time-outs have passed. Only a
// reply that is later than that can be mistaken.
type Asked struct {
	line       *Dialogue
	config     AskConfig
	memory     []memory // by query
	introduced bool
	opened     int // of the line, when it was set up
	identity   string
	stranger   string // what another one said that it is, which answers in its place
	dumb       bool   // it does not know the question
	said       bool   // an event has told of its identity
	news       []daq.Event
	stamp      time.Duration
	unanswered error
	// owed is until when, on the wall clock, the reply to the last query may
	// come that had none, where nothing may be asked before; zero for none.
	owed time.Time
}

// patience is how many time-outs a reply that is late is waited for.
const patience = 5

var _ daq.Instrument = (*Asked)(nil)

// NewAsked returns an instrument on the line, which several may share.
func NewAsked(line *Dialogue, c AskConfig) *Asked {
	if c.QueryTerminator == "" {
		c.QueryTerminator = "\n"
	}
	return &Asked{line: line, config: c, memory: make([]memory, len(c.Queries)), opened: -1}
}

// Stamp returns when, on the clock, the last Sample's reply began on the wire;
// of several replies half-way between the first and the last.
func (a *Asked) Stamp() time.Duration { return a.stamp }

// Unanswered returns why the last Sample left signals Missing, nil when it
// left none.
func (a *Asked) Unanswered() error { return a.unanswered }

// News returns what is to be told of the instrument since the last call: what
// it says that it is, and that another one answers in its place.
func (a *Asked) News() []daq.Event {
	news := a.news
	a.news = nil
	return news
}

// Sample asks every query. One that has no reply, or none that makes sense,
// leaves its signals Missing, and Sample fails only when none had. A line that
// is silent is asked once. The errors are ErrNoReply, ErrGarbled, ErrBlock and
// ErrOther, each with link.ErrTimeout; link.ErrGone and the context's.
func (a *Asked) Sample(ctx context.Context, dst []daq.Signal) error {
	for i := range dst {
		dst[i] = daq.Signal{Raw: math.NaN(), Health: daq.Missing}
	}
	if err := a.introduce(ctx); err != nil {
		a.unanswered = err
		return err
	}
	var failed error
	var first time.Duration
	learned := false
	for i, q := range a.config.Queries {
		at, err := a.read(ctx, i, dst)
		switch {
		case err == nil:
			if !learned {
				first = at
			}
			learned = true
			a.stamp = first + (at-first)/2
			continue
		case !errors.Is(err, link.ErrTimeout):
			a.introduced = false
			return err
		}
		a.introduced = false
		if a.identity == "" && !errors.Is(err, ErrGarbled) && !errors.Is(err, ErrBlock) {
			a.owes()
		}
		failed = errors.Join(failed, fmt.Errorf("query %q: %w", q.Text, err))
		if errors.Is(err, ErrNoReply) {
			break
		}
		if err := a.introduce(ctx); err != nil { // in step again before the next query
			failed = errors.Join(failed, err)
			break
		}
	}
	a.unanswered = failed
	if learned {
		a.known()
		return nil
	}
	return failed
}

// read asks one query. A reply that does not look like those before it is
// asked for once more, and believed when it comes again.
func (a *Asked) read(ctx context.Context, i int, dst []daq.Signal) (at time.Duration, err error) {
	q := a.config.Queries[i]
	signals := make([]daq.Signal, len(q.Fields))
	for range again {
		var doubt string
		at, err = a.line.ask(ctx, query{
			text: q.Text, end: a.config.QueryTerminator, lines: a.splitter(),
			take: func(line string) error {
				t, err := a.config.Format.read(line, q.Fields, signals)
				if err == nil {
					doubt = a.memory[i].doubt(t)
				}
				return err
			},
		})
		if err != nil {
			return 0, err
		}
		if doubt == "" {
			for k, s := range signals {
				dst[q.Signals[k]] = s
			}
			return at, nil
		}
		a.line.count(func(c *AskedCounts) { c.Doubted++ })
		a.line.port.Judge("reply doubted: " + doubt)
		err = fmt.Errorf("%w (%s): %w", ErrGarbled, doubt, link.ErrTimeout)
	}
	return 0, err
}

// splitter cuts replies. It is in step, because nothing came before the query.
func (a *Asked) splitter() splitter {
	s := Config{Format: a.config.Format, Terminator: a.config.Terminator}.splitter()
	s.inStep = true
	return s
}
