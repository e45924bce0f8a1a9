package bench

import (
	"context"
	"errors"
	"math/rand/v2"
	"sync"
	"time"

	"holdbench/daq"
)

// AskIrregularly asks each polled instrument that answered when it was probed
// over and over, with pauses of uneven length between, for that long on the
// wall clock. An adapter that hands bytes on in steps of its own shows only to
// whoever does not ask in step (discovery.Part). Nothing but what scanning
// asks is asked, and what is answered is thrown away; the trace has it.
//
// The error is the context's; an instrument that fails now is left to Probe.
func (w *Wiring) AskIrregularly(ctx context.Context, probes []Probe, span time.Duration) error {
	answered := map[string]bool{}
	for _, p := range probes {
		answered[p.Instrument] = len(p.Scans) > 0
	}
	ended, stop := context.WithTimeout(ctx, span)
	defer stop()
	var asking sync.WaitGroup
	for i, l := range w.Lines {
		var sources []daq.Source
		for _, s := range l.Sources {
			if !s.Streams && answered[s.Name] {
				sources = append(sources, s)
			}
		}
		if len(sources) > 0 {
			random := rand.New(rand.NewPCG(uint64(i), 1))
			asking.Go(func() { askIrregularly(ended, l, sources, random) })
		}
	}
	asking.Wait()
	return ctx.Err()
}

// longestIrregularPause is longer than what adapters hold bytes back for.
const longestIrregularPause = 64 * time.Millisecond

func askIrregularly(ctx context.Context, l daq.Line, sources []daq.Source, random *rand.Rand) {
	for {
		for _, s := range sources {
			err := s.Instrument.Sample(ctx, make([]daq.Signal, len(s.Channels)))
			if errors.Is(err, context.DeadlineExceeded) || ctx.Err() != nil {
				return
			}
			// A line whose scanning was stopped in the midst of sending is closed.
			if err != nil && l.Gone(err) && l.Reopen(ctx) != nil {
				return
			}
			select {
			case <-time.After(time.Duration(random.Int64N(int64(longestIrregularPause)))):
			case <-ctx.Done():
				return
			}
		}
	}
}
