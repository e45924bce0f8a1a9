//go:build linux || darwin

package link_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/daqtest"
	"holdbench/daq/link"
)

func TestSerialPort(t *testing.T) {
	path, far := daqtest.PTY(t)
	config := link.Config{Name: "rs485", Port: path, Baud: 9600, Parity: "even"}
	p, err := link.Open(config, link.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, p.Close()) }()

	b := make([]byte, 16)
	_, err = far.Write([]byte{0, 3, 13, 17, 255})
	require.NoError(t, err)
	n, err := p.Read(t.Context(), b, time.Now().Add(5*time.Second))
	require.NoError(t, err)
	assert.Equal(t, []byte{0, 3, 13, 17, 255}, b[:n], "nothing is translated")
	require.NoError(t, p.Write(t.Context(), []byte{10, 13, 4}, time.Now().Add(time.Second)))
	n, err = far.Read(b)
	require.NoError(t, err)
	assert.Equal(t, []byte{10, 13, 4}, b[:n])
	_, err = p.Read(t.Context(), b, time.Now().Add(150*time.Millisecond))
	require.ErrorIs(t, err, link.ErrTimeout)

	// Also for a privileged user, who could open it otherwise.
	_, err = link.Open(config, link.Options{})
	require.ErrorIs(t, err, link.ErrBusy)
	assert.EqualError(t, err, "open port rs485 ("+path+"): the port is in use by another program, or twice in this one")
	require.NoError(t, p.Reopen(), "the lock goes with the port")

	require.NoError(t, far.Close()) // pulled out
	_, err = p.Read(t.Context(), b, time.Now().Add(5*time.Second))
	require.ErrorIs(t, err, link.ErrGone)
	require.ErrorIs(t, p.Reopen(), link.ErrNoSuchPort)
}

func TestWriteIntoAFullTerminalIsGivenUp(t *testing.T) {
	path, _ := daqtest.PTY(t)
	p, err := link.Open(link.Config{Port: path, Baud: 9600}, link.Options{})
	require.NoError(t, err)
	// Nobody reads the other side: its buffer fills and the write blocks.
	err = p.Write(t.Context(), make([]byte, 1<<20), time.Now().Add(200*time.Millisecond))
	require.ErrorIs(t, err, link.ErrTimeout)
	require.NoError(t, p.Close())
}

func TestWhatIsNoSerialPort(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "ttyUSB9")
	_, err := link.Open(link.Config{Port: missing, Baud: 9600}, link.Options{})
	require.ErrorIs(t, err, link.ErrNoSuchPort)
	assert.EqualError(t, err, "open port "+missing+": no such port: nothing of that name; the adapter may be unplugged")

	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err = link.Open(link.Config{Port: file, Baud: 9600}, link.Options{})
	require.ErrorIs(t, err, link.ErrNoSuchPort)
	assert.ErrorContains(t, err, "it is no serial port")
}

// Two adapters that were pulled out and put in again may have changed their
// names: what one reads must not be taken for what the other reads.
func TestNameThatStandsForAnotherAdapterIsRefused(t *testing.T) {
	path, _ := daqtest.PTY(t)
	there := link.PortInfo{Name: path, USB: true, VendorID: "0403", ProductID: "6001", SerialNumber: "A1B2"}
	p, err := link.Open(link.Config{Name: "rs485", Port: path, Baud: 9600}, link.Options{
		List: func() ([]link.PortInfo, error) { return []link.PortInfo{there}, nil },
	})
	require.NoError(t, err)
	there.SerialNumber = "C3D4"
	err = p.Reopen()
	require.ErrorIs(t, err, link.ErrNoSuchPort)
	assert.ErrorContains(t, err, `is another adapter now, USB 0403:6001, serial number "C3D4", where USB 0403:6001, serial number "A1B2" was before`)
	there.SerialNumber = "A1B2"
	require.NoError(t, p.Reopen())
	there = link.PortInfo{}
	require.NoError(t, p.Reopen(), "a name that is not listed is taken at its word")
	require.NoError(t, p.Close())
}
