package main

import (
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// listened is what listen shows of a far end that sends these pieces, and the
// byte trace of it.
func listened(t *testing.T, pieces ...string) (screen, trace string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	heard := make(chan int, 1)
	go func() {
		conn, err := l.Accept()
		if err != nil {
			return
		}
		for _, p := range pieces {
			if _, err := conn.Write([]byte(p)); err != nil {
				return
			}
		}
		n, _ := conn.Read(make([]byte, 16)) // ends when the listener closes
		heard <- n
		_ = conn.Close()
	}()
	file := filepath.Join(t.TempDir(), "bytes.trace")
	var out strings.Builder
	code := 0
	root := newRoot(&code)
	root.SetOut(&out)
	root.SetErr(&out)
	root.SetArgs([]string{"listen", "tcp://" + l.Addr().String(), "--seconds", "0.5", "--trace", file})
	require.NoError(t, root.Execute())
	assert.Zero(t, <-heard, "not a byte is sent")
	require.NoError(t, l.Close())
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	return out.String(), string(text)
}

func TestListenShowsLinesAndHex(t *testing.T) {
	screen, trace := listened(t, "12.5;23.1\r\n13.5;", "23.2\r\n", "and a line longer than a row\r\n")
	assert.Regexp(t, `\n +0\.\d{3}  31 32 2e 35 3b 32 33 2e 31 0d 0a +12\.5;23\.1\.\.\n`, screen)
	assert.Regexp(t, `\n +0\.\d{3}  31 33 2e 35 3b 32 33 2e 32 0d 0a +13\.5;23\.2\.\.\n`, screen)
	assert.Regexp(t, `  and a line longe\n.*  r than a row\.\.\n`, screen)
	assert.Contains(t, screen, "52 bytes came: looks like text in lines\n")
	assert.Regexp(t, `(?s)^holdbench byte trace 1\nstarted\t.*Z\ntime \[s\]\t.*\tport\topened tcp://127.*\tcame\t31 32 2e`, trace)
	assert.NotContains(t, trace, "\tsent\t")
}

func TestListenNamesModbusFrames(t *testing.T) {
	// V: MODBUS over Serial Line V1.02 has no whole frame; request of the
	// function 4, address 1, two registers from 0: check sum 71 CB (C, CRC-16
	// with polynomial A001).
	screen, _ := listened(t, "\x01\x04\x00\x00\x00\x02\x71\xcb")
	assert.Contains(t, screen, "01 04 00 00 00 02 71 cb")
	assert.Contains(t, screen, "looks like Modbus RTU, check sums sound: slave 1, function 4")
}

func TestListenSaysThatNothingCame(t *testing.T) {
	screen, _ := listened(t)
	assert.Contains(t, screen, "not a byte came")
}
