package link

import (
	"io/fs"
	"testing"

	"github.com/stretchr/testify/require"
)

// What is left of a stuck write must not go to the file that has the closed
// port's number by now.
func TestNothingIsWrittenToAClosedPort(t *testing.T) {
	conn, err := openSerial(Config{Port: "/dev/ptmx", Baud: 9600})
	require.NoError(t, err)
	require.NoError(t, conn.Close())
	_, err = conn.Write([]byte{1})
	require.ErrorIs(t, err, fs.ErrClosed)
}
