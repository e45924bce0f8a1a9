package textline

import (
	"context"
	"errors"
	"fmt"
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

// Config says what a line looks like.
type Config struct {
	// Columns are the columns of the signals, counted from 1.
	Columns []int
	// Separator is ",", ";", a tab or a space (which stands for any run of
	// white space). A decimal comma is understood unless it is ",".
	Separator string
	// Interval is the time between two lines that the instrument is expected
	// to send; 0 when unknown. Sample waits for at least two of them.
	Interval time.Duration
}

// Counts says how the lines went.
type Counts struct {
	Lines   int // that became readings
	Garbled int // that did not
}

// Stream is an instrument that sends lines of its own accord. It is used by
// one goroutine.
type Stream struct {
	port    *link.Port
	config  Config
	started bool
	lines   splitter
	width   int // columns of the lines as learned; 0: not yet
	other   int // columns of the lines that did not fit last
	others  int // how many of them in a row
	mu      sync.Mutex
	counted Counts
}

var _ daq.Instrument = (*Stream)(nil)

// NewStream returns the instrument that sends on the port.
func NewStream(port *link.Port, c Config) *Stream { return &Stream{port: port, config: c} }

// Counts says how the lines went so far. Any goroutine may ask.
func (s *Stream) Counts() Counts {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.counted
}

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
	var piece [4096]byte
	for {
		if s.nextGood(dst) {
			return nil
		}
		n, err := s.port.Read(ctx, piece[:], deadline)
		s.lines.add(piece[:n])
		heard = heard || n > 0
		switch {
		case err == nil:
		case errors.Is(err, link.ErrGone):
			s.lines.restart()
			return err
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
		good := ok && s.parse(line, dst)
		s.mu.Lock()
		s.counted.Garbled += s.lines.lost
		s.lines.lost = 0
		if good {
			s.counted.Lines++
		} else if ok {
			s.counted.Garbled++
		}
		s.mu.Unlock()
		if good || !ok {
			return good
		}
	}
}

// parse reads the columns that were asked for; what stands in the others is
// not looked at.
func (s *Stream) parse(line string, dst []daq.Signal) bool {
	cut := columns(line, s.config.Separator)
	signals := make([]daq.Signal, len(s.config.Columns))
	for k, column := range s.config.Columns {
		if column > len(cut) {
			return false
		}
		var ok bool
		if signals[k], ok = signal(cut[column-1], s.config.Separator != ","); !ok {
			return false
		}
	}
	if !s.fits(len(cut)) {
		return false
	}
	copy(dst, signals)
	return true
}

// again is how many lines of another width in a row are believed.
const again = 3

// fits says whether a line has as many columns as the lines before it. Two
// lines that ran into each other have not. The width is learned anew when the
// instrument keeps to another one.
func (s *Stream) fits(width int) bool {
	switch {
	case s.width == 0 || s.width == width:
		s.width, s.others = width, 0
		return true
	case s.other == width:
		s.others++
	default:
		s.other, s.others = width, 1
	}
	if s.others < again {
		return false
	}
	s.width, s.others = width, 0
	return true
}
