package textline

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// ErrNoReply: an instrument was asked, and not a single byte came. It is an
// ErrSilent and comes wrapped with link.ErrTimeout.
var ErrNoReply = fmt.Errorf("no reply to the query: %w", ErrSilent)

// ErrBlock: the reply is a block of data. It comes wrapped with
// link.ErrTimeout, because nothing that could be used came in time.
var ErrBlock = errBlock

// AskedCounts says how the questions on a line went.
type AskedCounts struct {
	Queries, Replies int
	Silent           int // queries without a single byte
	Garbled          int // queries with bytes, but no reply that makes sense
	Late             int // replies that came after their query was given up
	Passed           int // lines that were no replies: echoes, banners
	Doubted          int // sound replies that did not look like those before
	Stray            int // bytes that came when nothing was asked
}

// String names what was counted; what never happened is left out.
func (n AskedCounts) String() string {
	return daq.Counted(fmt.Sprintf("%d queries, %d replies", n.Queries, n.Replies),
		daq.Count{N: n.Silent, What: "silent"}, daq.Count{N: n.Garbled, What: "garbled"},
		daq.Count{N: n.Late, What: "late"}, daq.Count{N: n.Passed, What: "passed over"},
		daq.Count{N: n.Doubted, What: "doubted"}, daq.Count{N: n.Stray, What: "stray bytes"})
}

// Dialogue is one line on which instruments are asked, one at a time. It is
// used by one goroutine.
type Dialogue struct {
	port  *link.Port
	clock daq.Clock
	// lull is how long, on the wall clock, the line stays silent until it is
	// taken that no more of a reply comes. Adapters and device servers hold
	// bytes back for some milliseconds.
	lull time.Duration
	// owedUntil is until when, on the wall clock, the reply to a query that was
	// given up may still come; zero for none.
	owedUntil time.Time
	// quiet is when, on the clock, the last byte came or went; silent is how long
	// the line is left alone then, so that an instrument on two wires has turned
	// from sending to listening.
	quiet, silent time.Duration
	// opened counts how often the line was found gone: what was said to an
	// instrument before then, it may have forgotten.
	opened int

	mu     sync.Mutex
	counts AskedCounts
}

// NewDialogue returns the line. The deadline of a reply is the port's
// time-out, on the wall clock.
func NewDialogue(port *link.Port, clock daq.Clock) *Dialogue {
	silent := port.Config().SilentInterval()
	return &Dialogue{port: port, clock: clock, lull: 50*time.Millisecond + 20*port.Config().CharacterTime(),
		silent: silent, quiet: clock.Now() - silent}
}

// Counts says how the questions went so far. Any goroutine may ask.
func (d *Dialogue) Counts() AskedCounts {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.counts
}

func (d *Dialogue) count(change func(*AskedCounts)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	change(&d.counts)
}

// query is one question and how its reply is told from anything else.
type query struct {
	text, end string // what is sent, and what behind it
	lines     splitter
	// take is given each line that comes. It returns nil when that is the reply,
	// errPassedOver when it is no matter, errLate when it answers an earlier
	// query, and what is wrong with it otherwise.
	take func(line string) error
}

var (
	// errLate: the line answers a query that was given up.
	errLate = errors.New("late")
	// errEcho: the line is the query itself, as an adapter hears it.
	errEcho = errors.New("echo")
)

// ask does one exchange and returns when, on the clock, the reply began on the
// wire. The errors are ErrNoReply, ErrGarbled and ErrBlock, each with
// link.ErrTimeout; link.ErrTimeout alone when the query could not be sent;
// link.ErrGone and the context's.
func (d *Dialogue) ask(ctx context.Context, q query) (stamp time.Duration, err error) {
	defer d.port.Done()
	if err := d.settle(ctx); err != nil {
		return 0, d.gone(err)
	}
	if err := d.clock.Sleep(ctx, d.quiet+d.silent); err != nil {
		return 0, err
	}
	if n := d.port.Discard(); n > 0 {
		d.count(func(c *AskedCounts) { c.Stray += n })
		d.port.Judge("nobody asked for it")
	}
	deadline := time.Now().Add(d.port.Timeout())
	asked := d.clock.Now()
	d.count(func(c *AskedCounts) { c.Queries++ })
	if err := d.port.Write(ctx, []byte(q.text+q.end), deadline); err != nil {
		return 0, d.gone(err)
	}
	characters, heard, wrong, err := d.listen(ctx, q, deadline)
	d.quiet = d.clock.Now()
	switch {
	case err == nil:
		d.count(func(c *AskedCounts) { c.Replies++ })
		onTheWire := time.Duration(characters) * characterTime(d.port, d.clock)
		return max(asked, d.clock.Now()-onTheWire), nil
	case !errors.Is(err, link.ErrTimeout):
		return 0, d.gone(err)
	}
	d.owedUntil = deadline.Add(d.port.Timeout())
	switch {
	case wrong != nil: // a line came, which was the reply, most likely
		d.owedUntil = deadline
	case heard == 0:
		d.count(func(c *AskedCounts) { c.Silent++ })
		return 0, fmt.Errorf("%w: %w", ErrNoReply, err)
	default:
		wrong = ErrGarbled
	}
	d.count(func(c *AskedCounts) { c.Garbled++ })
	return 0, fmt.Errorf("%w: %w", wrong, err)
}

// await listens for a reply that is owed since an earlier query.
func (d *Dialogue) await(ctx context.Context, q query, deadline time.Time) error {
	defer d.port.Done()
	_, _, wrong, err := d.listen(ctx, q, deadline)
	switch {
	case err == nil:
		return nil
	case wrong != nil && errors.Is(err, link.ErrTimeout):
		return fmt.Errorf("%w: %w", wrong, err)
	}
	return d.gone(err)
}

// tell sends what has no reply, and waits a moment for the instrument to take
// it in.
func (d *Dialogue) tell(ctx context.Context, text, end string) error {
	const digesting = 20 * time.Millisecond
	if err := d.clock.Sleep(ctx, d.quiet+d.silent); err != nil {
		return err
	}
	if err := d.port.Write(ctx, []byte(text+end), time.Now().Add(d.port.Timeout())); err != nil {
		return d.gone(err)
	}
	onTheWire := time.Duration(len(text)+len(end)) * d.port.Config().CharacterTime()
	return d.clock.Sleep(ctx, d.clock.Now()+onTheWire+digesting)
}

// gone notes that the line is.
func (d *Dialogue) gone(err error) error {
	if errors.Is(err, link.ErrGone) {
		d.opened++
		d.owedUntil = time.Time{}
	}
	return err
}

// settle waits for the reply that is owed, so that the next query does not
// take it for its own: as long again as a reply may take, or until it has come
// and the line has fallen silent.
func (d *Dialogue) settle(ctx context.Context) error {
	if d.owedUntil.IsZero() {
		return nil
	}
	var piece [512]byte
	late := false
	for until, last := d.owedUntil, d.owedUntil.Add(d.port.Timeout()); time.Now().Before(last); {
		n, err := d.port.Read(ctx, piece[:], until)
		late = late || n > 0
		if errors.Is(err, link.ErrTimeout) {
			break
		}
		if err != nil {
			return err
		}
		until = time.Now().Add(d.lull)
	}
	d.owedUntil = time.Time{}
	if late {
		d.count(func(c *AskedCounts) { c.Late++ })
		d.port.Judge("late reply")
	}
	return nil
}

// listen collects lines until one is the reply, until it is plain that none
// will be, or until the deadline; both of these are link.ErrTimeout.
// characters is how many the reply had, and those behind it; heard is how many
// came, line ends and an echo of the query not counted; wrong is what was amiss with the last
// line that was no reply.
func (d *Dialogue) listen(ctx context.Context, q query, deadline time.Time) (characters, heard int, wrong, err error) {
	var piece [512]byte
	for until := deadline; ; {
		n, err := d.port.Read(ctx, piece[:], until)
		heard += len(bytes.Trim(piece[:n], "\r\n\x00"))
		q.lines.add(piece[:n])
		for line, ok := q.lines.next(); ok; line, ok = q.lines.next() {
			if errors.Is(wrong, errBlock) {
				continue // more of the block
			}
			switch verdict := q.judge(line); {
			case verdict == nil:
				d.port.Judge("reply")
				return len(line) + 1 + q.lines.waiting(), heard, nil, nil
			case errors.Is(verdict, errEcho):
				heard -= min(heard, len(line))
				d.passed("echo")
			case errors.Is(verdict, errPassedOver):
				d.passed("line passed over")
			case errors.Is(verdict, errLate):
				d.count(func(c *AskedCounts) { c.Late++ })
				d.port.Judge("late reply")
			default:
				wrong = d.garbled(verdict)
				d.port.Judge("reply garbled: " + verdict.Error())
			}
		}
		if err == nil && heard > maxHeard {
			err = fmt.Errorf("%w: the line never falls silent", link.ErrTimeout)
		}
		if err != nil {
			return 0, heard, wrong, err
		}
		until = deadline
		if lull := time.Now().Add(d.lull); wrong != nil && lull.Before(deadline) {
			until = lull
		}
	}
}

// judge says what a line is.
func (q query) judge(line string) error {
	switch trimmed := strings.Trim(line, "\r\n\x00 "); trimmed {
	case "":
		return errPassedOver
	case strings.Trim(q.text, "\r\n\x00 "):
		return errEcho
	}
	return q.take(line)
}

// maxHeard bounds what is listened to in one exchange, in bytes.
const maxHeard = 64 << 10

func (d *Dialogue) passed(verdict string) {
	d.count(func(c *AskedCounts) { c.Passed++ })
	d.port.Judge(verdict)
}

func (d *Dialogue) garbled(wrong error) error {
	if errors.Is(wrong, errBlock) {
		return wrong
	}
	return fmt.Errorf("%w (%s)", ErrGarbled, wrong)
}
