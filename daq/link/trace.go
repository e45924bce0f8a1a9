package link

import (
	"encoding/hex"
	"io"
	"strconv"
	"strings"
	"sync"
	"time"
)

// A byte trace is plain text in UTF-8, one line an entry, its columns parted
// by one tab:
//
//	holdbench byte trace 1
//	started	2026-03-02T07:15:00.000000Z
//	time [s]	link	what	bytes or verdict	as text
//	0.000120	rs485	sent	01 03 00 00 00 02 c4 0b	........
//	0.014873	rs485	came	01 03 04 00 06 00 05 da 31	........1
//	0.014905	rs485	judged	answer
//	7.310042	rs485	port	gone: input/output error
//
// The first line names the format and its version; the second says when the
// trace began by the calendar (UTC); the third names the columns. Times are
// seconds since then, by a clock that never goes back. Bytes that came wear
// the time at which the system handed them over; a verdict speaks of what came
// on that link since the verdict before it; port says what happened to the port
// itself. As text, a byte that is no
// printable ASCII character is a full stop. Entries of one link stand in the
// order in which they were read, sent and judged; several links are mixed as
// they came.
const (
	// TraceHead is how a byte trace begins.
	TraceHead    = "holdbench byte trace 1\n"
	traceColumns = "time [s]\tlink\twhat\tbytes or verdict\tas text\n"
	traceTime    = "2006-01-02T15:04:05.000000Z"
)

// AppendTraceHead appends the lines before the first entry.
func AppendTraceHead(dst []byte, started time.Time) []byte {
	dst = append(dst, TraceHead+"started\t"...)
	dst = started.UTC().AppendFormat(dst, traceTime)
	return append(dst, "\n"+traceColumns...)
}

// AppendTrace appends an entry's line.
func AppendTrace(dst []byte, started time.Time, t Traced) []byte {
	dst = strconv.AppendFloat(dst, t.At.Sub(started).Seconds(), 'f', 6, 64)
	dst = append(dst, '\t')
	dst = append(dst, oneColumn(t.Link)...)
	switch {
	case t.Port != "":
		return append(append(dst, "\tport\t"+oneColumn(t.Port)...), '\n')
	case len(t.Bytes) == 0:
		return append(append(dst, "\tjudged\t"+oneColumn(t.Verdict)...), '\n')
	case t.Sent:
		dst = append(dst, "\tsent\t"...)
	default:
		dst = append(dst, "\tcame\t"...)
	}
	dst = AppendHex(dst, t.Bytes)
	dst = append(dst, '\t')
	return append(AppendPrintable(dst, t.Bytes), '\n')
}

// AppendHex appends b as two hexadecimal digits a byte, parted by spaces.
func AppendHex(dst, b []byte) []byte {
	for i := range b {
		if i > 0 {
			dst = append(dst, ' ')
		}
		dst = hex.AppendEncode(dst, b[i:i+1])
	}
	return dst
}

// AppendPrintable appends b with a full stop for each byte that is no
// printable ASCII character.
func AppendPrintable(dst, b []byte) []byte {
	for _, c := range b {
		if !printable(c) {
			c = '.'
		}
		dst = append(dst, c)
	}
	return dst
}

func printable(c byte) bool { return c >= ' ' && c <= '~' }

// oneColumn is text that stays within its column and its line.
func oneColumn(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return '.'
		}
		return r
	}, text)
}

// Bounds of a trace in memory: at the first it is written at once, above the
// second entries are left out and counted, so that a disk that stands still
// holds up no line and fills no memory.
const (
	traceSoon = 1 << 16
	traceMost = 1 << 24
	// traceEvery is how long an entry waits at most before it is written.
	traceEvery = time.Second
)

// Trace writes a byte trace. Its Add may be called from any goroutine and
// never waits for the disk.
type Trace struct {
	started time.Time
	w       io.Writer
	failed  func(error)

	mu      sync.Mutex
	waiting []byte
	lost    int // entries left out since the last that was kept
	ended   bool

	soon, end chan struct{}
	done      chan struct{}
	err       error // of writing, for Close; touched by the writing goroutine alone until done
}

// NewTrace begins a trace on w: what was added is written at least once a
// second, and all of it at Close. When writing fails, failed is called once
// with the error, on another goroutine, and nothing more is written; failed
// may be nil.
func NewTrace(w io.Writer, started time.Time, failed func(error)) *Trace {
	t := &Trace{
		started: started, w: w, failed: failed,
		waiting: AppendTraceHead(nil, started),
		soon:    make(chan struct{}, 1), end: make(chan struct{}), done: make(chan struct{}),
	}
	go t.run()
	return t
}

// Add takes an entry; after Close, or once writing has failed, it does nothing.
func (t *Trace) Add(e Traced) {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch {
	case t.ended:
		return
	case len(t.waiting) > traceMost:
		t.lost++
		return
	}
	t.noteLost(e.At)
	t.waiting = AppendTrace(t.waiting, t.started, e)
	if len(t.waiting) >= traceSoon {
		signal(t.soon)
	}
}

func (t *Trace) noteLost(at time.Time) {
	if t.lost > 0 && !t.ended {
		t.waiting = AppendTrace(t.waiting, t.started, Traced{At: at, Link: "trace",
			Verdict: strconv.Itoa(t.lost) + " entries left out: the disk was too slow"})
		t.lost = 0
	}
}

// Close writes what is left and returns the first error of writing. It must
// be called once.
func (t *Trace) Close() error {
	t.mu.Lock()
	t.noteLost(time.Now())
	t.ended = true
	t.mu.Unlock()
	close(t.end)
	<-t.done
	return t.err
}

func (t *Trace) run() {
	defer close(t.done)
	tick := time.NewTicker(traceEvery)
	defer tick.Stop()
	var spare []byte
	for over := false; !over; {
		select {
		case <-tick.C:
		case <-t.soon:
		case <-t.end:
			over = true
		}
		t.mu.Lock()
		full := t.waiting
		t.waiting = spare[:0]
		t.mu.Unlock()
		if _, t.err = t.w.Write(full); t.err != nil {
			t.giveUp()
			return
		}
		spare = full
	}
}

// giveUp forgets what waits and says why.
func (t *Trace) giveUp() {
	t.mu.Lock()
	t.ended, t.waiting = true, nil
	t.mu.Unlock()
	if t.failed != nil {
		t.failed(t.err)
	}
}
