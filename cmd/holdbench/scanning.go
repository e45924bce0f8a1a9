package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"holdbench/daq"
	"holdbench/daq/bench"
)

// scanFlags say which bench is read, and where what is read goes.
type scanFlags struct {
	bench, folder, trace string
	ports                map[string]string
}

func (f *scanFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.bench, "bench", "", "bench file (TOML)")
	cmd.Flags().StringVar(&f.folder, "out", ".", "folder in which the recording's folder is made")
	portsFlag(cmd, &f.ports)
	traceFlag(cmd, &f.trace)
}

// scanning is a bench that is being read, from program start to stop.
type scanning struct {
	wiring  *bench.Wiring
	scanner *daq.Scanner
	// ctx ends when scanning does, for whatever reason.
	ctx    context.Context
	cancel context.CancelFunc
	done   chan error
	// over is closed when scanning is over and outputs are safe.
	over chan struct{}
}

// startScanning opens everything that the bench file names and reads it until
// stop.
func startScanning(ctx context.Context, b *bench.Bench, clock daq.Clock, o bench.WireOptions) (*scanning, error) {
	wiring, err := b.Wire(clock, o)
	if err != nil {
		return nil, mended(err)
	}
	ctx, cancel := context.WithCancel(ctx)
	s := &scanning{wiring: wiring, scanner: daq.NewScanner(clock, wiring.Lines), ctx: ctx, cancel: cancel, done: make(chan error, 1),
		over: make(chan struct{})}
	go func() {
		defer close(s.over)
		defer cancel()
		s.done <- s.scanner.Run(ctx)
	}()
	return s, nil
}

// stop ends scanning, which brings outputs to their safe state, closes the
// ports and returns what went wrong. Deferred, it does so in a panic too.
func (s *scanning) stop() error {
	s.cancel()
	return errors.Join(<-s.done, s.wiring.Close())
}

// mended puts beside each port that did not open what would mend it.
func mended(err error) error {
	if remedy := bench.Remedy(err); remedy != "" {
		return fmt.Errorf("%w\n  to mend it: %s", err, remedy)
	}
	return err
}
