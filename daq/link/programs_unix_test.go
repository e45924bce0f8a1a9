//go:build linux || darwin

package link_test

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"

	"holdbench/daq/daqtest"
	"holdbench/daq/link"
)

// holdPort names the port that TestHoldsAPort holds until its input ends.
const holdPort = "HOLDBENCH_TEST_HOLDS"

func TestHoldsAPort(t *testing.T) {
	path := os.Getenv(holdPort)
	if path == "" {
		t.Skip("run by TestTwoProgramsOnOnePort, as a program of its own")
	}
	p, err := link.Open(link.Config{Port: path, Baud: 9600}, link.Options{})
	require.NoError(t, err)
	_, err = os.Stdout.WriteString("held\n")
	require.NoError(t, err)
	_, err = io.Copy(io.Discard, os.Stdin)
	require.NoError(t, err)
	require.NoError(t, p.Close())
}

func TestTwoProgramsOnOnePort(t *testing.T) {
	path, _ := daqtest.PTY(t)
	other := exec.Command(os.Args[0], "-test.run=^TestHoldsAPort$")
	other.Env = append(os.Environ(), holdPort+"="+path)
	in, err := other.StdinPipe()
	require.NoError(t, err)
	out, err := other.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, other.Start())
	held := bufio.NewReader(out)
	line, err := held.ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "held\n", line)

	config := link.Config{Port: path, Baud: 9600}
	for range 2 {
		_, err = link.Open(config, link.Options{})
		require.ErrorIs(t, err, link.ErrBusy, "also for a privileged user")
	}
	require.NoError(t, in.Close())
	_, err = io.Copy(io.Discard, held)
	require.NoError(t, err)
	require.NoError(t, other.Wait())
	p, err := link.Open(config, link.Options{})
	require.NoError(t, err, "what the other left is free")
	require.NoError(t, p.Close())
}
