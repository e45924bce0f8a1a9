//go:build linux || darwin

package daqtest

import (
	"os"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
)

// PTY returns the path of a pseudo-terminal, for the program to open like any
// serial port, and the file through which a test plays the instrument. The
// path is gone once that file is closed, as with an adapter that is pulled
// out; it is closed with the test at the latest.
func PTY(t testing.TB) (path string, instrument *os.File) {
	master, slave, err := pty.Open()
	require.NoError(t, err)
	t.Cleanup(func() {
		// Closed already where the test has pulled it out.
		if err := master.Close(); err != nil {
			require.ErrorIs(t, err, os.ErrClosed)
		}
	})
	path = slave.Name()
	require.NoError(t, slave.Close())
	return path, master
}
