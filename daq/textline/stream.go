package textline

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"holdbench/daq"
	"holdbench/daq/link"
)

// Why nothing was read. They come wrapped with link.ErrTimeout, or with the
// context's error when that ended the waiting.
var (
	// ErrSilent: not a single byte came.
	ErrSilent = errors.New("not a single byte came")
	// ErrGarbled: bytes came, but no line that makes sense.
	ErrGarbled = errors.New("bytes came, but no line that makes sense")
)

// Config says what an instrument's lines look like.
type Config struct {
	Format
	// Terminator ends a line; empty: CR, LF or both. Where it is also what the
	// check stands behind (ETX, then the check), the line ends with the check.
	Terminator string
	// Fields of the signals, in their order.
	Fields []Field
	// Interval is the time between two lines that the instrument is expected
	// to send; 0 when unknown. Sample waits for at least two of them.
	Interval time.Duration
}

// splitter returns what cuts the lines.
func (c Config) splitter() splitter {
	s := splitter{end: c.Terminator}
	if !c.Check.none() && c.Terminator != "" && c.Check.After == c.Terminator {
		s.tail = c.Check.length()
	}
	return s
}

// Counts says how the lines went.
type Counts struct {
	Lines   int // that became readings
	Garbled int // that did not
	// Passed are comments, headers and banners, which cost nothing.
	Passed int
	// Doubted, among the garbled, are sound lines that did not look like those
	// before them.
	Doubted int
}

// String names what was counted; what never happened is left out.
func (n Counts) String() string {
	return daq.Counted(fmt.Sprintf("%d lines", n.Lines), daq.Count{N: n.Garbled, What: "garbled"},
		daq.Count{N: n.Doubted, What: "of these doubted"}, daq.Count{N: n.Passed, What: "passed over"})
}

// Stream is an instrument that sends lines of its own accord. It is used by
// one goroutine.
type Stream struct {
	port      *link.Port
	clock     daq.Clock
	config    Config
	started   bool
	lines     splitter
	held      held
	memory    memory
	heard     time.Duration // when, on the clock, the last bytes came
	character time.Duration
	stamp     time.Duration
	why       string // the last line that did not become a reading did not

	mu      sync.Mutex
	counted Counts
}

var _ daq.Instrument = (*Stream)(nil)

// NewStream returns the instrument that sends on the port; its lines are
// stamped on the clock.
func NewStream(port *link.Port, clock daq.Clock, c Config) *Stream {
	return &Stream{port: port, clock: clock, config: c, lines: c.splitter(), character: characterTime(port, clock)}
}

// characterTime is the time of a character on the clock: none on a lock-step
// clock, which stands still while bytes are on their way.
func characterTime(port *link.Port, clock daq.Clock) time.Duration {
	if clock.Kind() == daq.NewWallClock().Kind() {
		return port.Config().CharacterTime()
	}
	return 0
}

// Counts says how the lines went so far. Any goroutine may ask.
func (s *Stream) Counts() Counts {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.counted
}

// Stamp returns when, on the clock, the line of the last Sample began on the
// wire: when it was there less the time of its characters, and of those that
// had come behind it.
func (s *Stream) Stamp() time.Duration { return s.stamp }

// Sample waits for the next line that makes sense. It waits for two intervals
// or the port's time-out, whichever is longer, on the wall clock. Lines that
// came before the first call are thrown away: an old line must not look new.
// The errors are ErrSilent and ErrGarbled (with link.ErrTimeout or the
// context's error) and link.ErrGone.
func (s *Stream) Sample(ctx context.Context, dst []daq.Signal) error {
	deadline := time.Now().Add(max(2*s.config.Interval, s.port.Timeout()))
	if !s.started {
		s.port.Discard()
		s.started = true
	}
	heard := false
	s.why = ""
	var piece [4096]byte
	for {
		if s.nextGood(dst) {
			return nil
		}
		n, err := s.port.Read(ctx, piece[:], deadline)
		if n > 0 {
			s.lines.add(piece[:n])
			s.heard = s.clock.Now()
			heard = true
		}
		switch {
		case err == nil:
		case errors.Is(err, link.ErrGone):
			s.lines.restart()
			s.held, s.memory = held{}, memory{}
			return err
		case heard && s.why != "":
			return fmt.Errorf("%w (the last one: %s): %w", ErrGarbled, s.why, err)
		case heard:
			return fmt.Errorf("%w: %w", ErrGarbled, err)
		default:
			return fmt.Errorf("%w: %w", ErrSilent, err)
		}
	}
}

// nextGood reads the lines that are there up to the first that makes sense.
func (s *Stream) nextGood(dst []daq.Signal) bool {
	for {
		line, ok := s.lines.next()
		if lost := s.lines.lost; lost > 0 {
			s.count(func(c *Counts) { c.Garbled += lost })
			s.port.Judge("line garbled: begun before it was listened to, or without an end")
			s.lines.lost = 0
		}
		if !ok {
			return false
		}
		if s.parse(line, dst) {
			characters := len(line) + max(1, len(s.config.Terminator)) + s.lines.waiting()
			at := s.heard - time.Duration(characters)*s.character
			s.stamp = max(s.stamp, at, 0)
			return true
		}
	}
}

func (s *Stream) count(change func(*Counts)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	change(&s.counted)
}

// parse reads a line into dst, judges and counts it.
func (s *Stream) parse(line string, dst []daq.Signal) bool {
	signals := make([]daq.Signal, len(s.config.Fields))
	t, err := s.whole(line, signals)
	switch {
	case errors.Is(err, errPassedOver):
		if strings.Trim(line, "\r\n\x00 ") != "" {
			s.count(func(c *Counts) { c.Passed++ })
			s.port.Judge("line passed over")
		}
		return false
	case err != nil:
		s.count(func(c *Counts) { c.Garbled++ })
		s.why = err.Error()
		s.port.Judge("line garbled: " + s.why)
		return false
	}
	if doubt := s.memory.doubt(t); doubt != "" {
		s.count(func(c *Counts) { c.Garbled++; c.Doubted++ })
		s.why = doubt
		s.port.Judge("line doubted: " + doubt)
		return false
	}
	s.count(func(c *Counts) { c.Lines++ })
	s.port.Judge("line")
	copy(dst, signals)
	return true
}

// whole reads a line. A check in bytes may hold the bytes that end lines: a
// line that is wrong may be the beginning of one that was cut in its check,
// and is tried again with the next pieces behind it.
func (s *Stream) whole(line string, signals []daq.Signal) (taken, error) {
	if !s.cuts() {
		if strings.Trim(line, "\r\n\x00") == "" {
			return taken{}, errPassedOver
		}
		return s.config.read(line, s.config.Fields, signals)
	}
	t, err := s.config.read(line, s.config.Fields, signals)
	if err == nil || errors.Is(err, errPassedOver) {
		s.held = held{}
		return t, err
	}
	if s.held.pieces > 0 {
		joined := s.held.text + s.config.Terminator + line
		if t, err := s.config.read(joined, s.config.Fields, signals); err == nil {
			s.count(func(c *Counts) { c.Garbled -= s.held.counted })
			s.held = held{}
			return t, nil
		}
		s.held.text = joined
	} else {
		s.held.text = line
	}
	if s.held.pieces++; s.held.pieces > s.config.Check.Sum.Bytes {
		s.held = held{text: line, pieces: 1}
	}
	if line == "" {
		return taken{}, errPassedOver
	}
	s.held.counted++
	return t, err
}

// cuts says whether a line may be cut in its check.
func (s *Stream) cuts() bool { return s.config.Check.Form == Bytes && s.lines.tail == 0 }

// held are pieces that may be the beginning of a line.
type held struct {
	text            string
	pieces, counted int // and how many of them were counted as garbled
}
