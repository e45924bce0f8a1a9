//go:build linux || darwin

package main

import (
	"io"
	"path/filepath"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"
)

// demoExchanges is about how many requests the demo's bench answers: seven
// units of some 415 s, two requests ten times a second.
const demoExchanges = 7 * 415 * 20

// The whole demo lot over ttys in lock-step, against as many bare exchanges of
// a request and an answer over one tty, with nothing done to them.
func BenchmarkSpeedDemoLot(b *testing.B) {
	parts(b, func() error {
		var code int
		root := newRoot(&code)
		root.SetArgs([]string{"demo", "--out", filepath.Join(b.TempDir(), "demo")})
		root.SetOut(io.Discard)
		return root.Execute()
	}, func() error { return bareExchanges(b) })
}

func bareExchanges(b *testing.B) error {
	instrument, tty, err := pty.Open()
	if err != nil {
		return err
	}
	defer instrument.Close()
	defer tty.Close()
	_, err = term.MakeRaw(int(tty.Fd()))
	require.NoError(b, err)
	go func() { _, _ = io.Copy(instrument, instrument) }() // ends when the tty is closed
	frame := make([]byte, 8)
	for range demoExchanges {
		if _, err := tty.Write(frame); err != nil {
			return err
		}
		if _, err := io.ReadFull(tty, frame); err != nil {
			return err
		}
	}
	return nil
}
