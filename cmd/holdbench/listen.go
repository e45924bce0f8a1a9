package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/strict"
)

type listenFlags struct {
	baud, dataBits, stopBits int
	parity, trace            string
	seconds                  float64
}

func listenCommand(*int) *cobra.Command {
	var f listenFlags
	cmd := &cobra.Command{
		Use:   "listen PORT",
		Short: "Show what arrives at a port as hex and text, and guess what it is; send nothing",
		Long: `listen opens a serial port, or tcp://host:port, and shows what arrives: a row for
each line, frame or sixteen bytes, with the seconds since the start. It never
sends a byte. It says when the bytes look like text, like Modbus RTU between
others, or like a wrong baud. Ctrl-C ends.`,
		Args: oneArgument("a port, e.g. /dev/ttyUSB0, COM3 or tcp://10.0.0.7:4001"),
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd, args[0]) },
	}
	flags := cmd.Flags()
	flags.IntVar(&f.baud, "baud", 9600, "bits a second; not needed for tcp")
	flags.IntVar(&f.dataBits, "data-bits", 8, "7 or 8")
	flags.StringVar(&f.parity, "parity", "none", "none, even or odd")
	flags.IntVar(&f.stopBits, "stop-bits", 1, "1 or 2")
	flags.Float64Var(&f.seconds, "seconds", 0, "how long; 0: until Ctrl-C")
	traceFlag(cmd, &f.trace)
	return cmd
}

// config checks the flags, all at once.
func (f *listenFlags) config(port string) (link.Config, error) {
	var faults []error
	check := func(ok bool, flag string, found any, want string) {
		if !ok {
			faults = append(faults, &strict.Error{Field: flag, Found: fmt.Sprint(found), Want: want})
		}
	}
	check(f.baud >= 50 && f.baud <= 12_000_000, "--baud", f.baud, "a whole number from 50 to 12000000")
	check(f.dataBits == 7 || f.dataBits == 8, "--data-bits", f.dataBits, "7 or 8")
	check(f.parity == "none" || f.parity == "even" || f.parity == "odd", "--parity", strict.Quote(f.parity), "none, even or odd")
	check(f.stopBits == 1 || f.stopBits == 2, "--stop-bits", f.stopBits, "1 or 2")
	check(f.seconds == 0 || f.seconds >= 0.5 && f.seconds <= 1e6, "--seconds", f.seconds, "0.5 to 1000000, or 0 until Ctrl-C")
	return link.Config{Port: port, Baud: f.baud, DataBits: f.dataBits, Parity: f.parity, StopBits: f.stopBits}, errors.Join(faults...)
}

func (f *listenFlags) run(cmd *cobra.Command, port string) error {
	config, err := f.config(port)
	if err != nil {
		return err
	}
	trace, endTrace, err := openTrace(f.trace, cmd.ErrOrStderr())
	if err != nil {
		return err
	}
	defer endTrace()
	p, err := link.Open(config, link.Options{Trace: trace})
	if err != nil {
		return mended(err)
	}
	ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if f.seconds > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, time.Duration(f.seconds*float64(time.Second)))
		defer cancel()
	}
	out := cmd.OutOrStdout()
	fmt.Fprintf(out, "listening at %s; nothing is sent; Ctrl-C ends\n", described(config))
	fmt.Fprintf(out, "%8s  %-*s  %s\n", "TIME [s]", 3*rowBytes-1, "HEX", "TEXT")
	l := &listener{out: out, began: time.Now(), pause: max(20*time.Millisecond, 4*config.CharacterTime())}
	l.listen(ctx, p)
	l.summary()
	return fault(p.Close())
}

// described is the port with its framing.
func described(c link.Config) string {
	if strings.HasPrefix(c.Port, "tcp://") {
		return c.Port
	}
	return fmt.Sprintf("%s, %d bit/s, %d data bits, parity %s, stop bits %d", c.Port, c.Baud, c.DataBits, c.Parity, c.StopBits)
}

// rowBytes is how many bytes a row shows.
const rowBytes = 16

// listener shows rows: one for each line, for what comes without a pause, or
// for sixteen bytes.
type listener struct {
	out   io.Writer
	began time.Time
	pause time.Duration // ends a row

	row     []byte
	rowAt   time.Duration
	total   int
	heard   discovery.Overhearing
	guessed string
}

// listen shows what comes until ctx ends. A port that is gone is opened again.
func (l *listener) listen(ctx context.Context, p *link.Port) {
	b := make([]byte, 4096)
	asked := time.Now()
	for ctx.Err() == nil {
		n, err := p.Read(ctx, b, time.Now().Add(l.pause))
		l.take(b[:n])
		if time.Since(asked) >= time.Second {
			l.guess()
			asked = time.Now()
		}
		switch {
		case errors.Is(err, link.ErrTimeout):
			l.flush()
			l.heard.Pause()
		case errors.Is(err, link.ErrGone):
			l.flush()
			fmt.Fprintf(l.out, "– %v; waiting for it\n", err)
			l.await(ctx, p)
		}
	}
	l.flush()
}

// await opens the port again.
func (l *listener) await(ctx context.Context, p *link.Port) {
	for ctx.Err() == nil {
		select {
		case <-ctx.Done():
		case <-time.After(500 * time.Millisecond):
			if p.Reopen() == nil {
				fmt.Fprintln(l.out, "– it is back")
				return
			}
		}
	}
}

func (l *listener) take(b []byte) {
	l.total += len(b)
	l.heard.Hear(b)
	for _, c := range b {
		if len(l.row) == 0 {
			l.rowAt = time.Since(l.began)
		}
		l.row = append(l.row, c)
		if c == '\n' || len(l.row) == rowBytes {
			l.flush()
		}
	}
}

// flush shows the row.
func (l *listener) flush() {
	if len(l.row) == 0 {
		return
	}
	fmt.Fprintf(l.out, "%8.3f  %-*s  %s\n", l.rowAt.Seconds(), 3*rowBytes-1, link.AppendHex(nil, l.row), link.AppendPrintable(nil, l.row))
	l.row = l.row[:0]
}

// guess shows what it seems to be, when that is new.
func (l *listener) guess() {
	guess := l.heard.Guess()
	kind, _, _ := strings.Cut(guess, "(") // a share changes with each byte
	if guess == "" || kind == l.guessed {
		return
	}
	l.guessed = kind
	fmt.Fprintln(l.out, "– "+guess)
}

func (l *listener) summary() {
	switch guess := l.heard.Guess(); {
	case l.total == 0:
		fmt.Fprintln(l.out, "– not a byte came: the instrument may have no power, wait to be asked, or its wires may be swapped")
	case guess == "":
		fmt.Fprintf(l.out, "– %d bytes came, too few to tell what they are\n", l.total)
	default:
		fmt.Fprintf(l.out, "– %d bytes came: %s\n", l.total, guess)
	}
}
