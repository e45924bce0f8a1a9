package link

import (
	"context"
	"errors"
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// halfOpen returns a port on a socket whose far end has silently gone: what
// reaches it is dropped before anything is acknowledged, as when its power is
// cut.
func halfOpen(t *testing.T, p patience) *Port {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, l.Close()) })
	far := make(chan net.Conn, 1)
	go func() {
		if conn, err := l.Accept(); err == nil {
			far <- conn
		}
	}()
	port := Over(Config{Port: "tcp://" + l.Addr().String()}, Options{}, func() (Conn, error) {
		return dialTCP(l.Addr().String(), time.Second, p)
	})
	require.NoError(t, port.Reopen())
	conn := <-far
	t.Cleanup(func() { require.NoError(t, conn.Close()) })
	raw, err := conn.(*net.TCPConn).SyscallConn()
	require.NoError(t, err)
	drop := []unix.SockFilter{{Code: unix.BPF_RET | unix.BPF_K, K: 0}}
	var refused error
	require.NoError(t, raw.Control(func(fd uintptr) {
		refused = unix.SetsockoptSockFprog(int(fd), unix.SOL_SOCKET, unix.SO_ATTACH_FILTER, &unix.SockFprog{Len: 1, Filter: &drop[0]})
	}))
	require.NoError(t, refused)
	return port
}

// short is patience for a test; the system counts in whole seconds.
var short = patience{
	probes:         net.KeepAliveConfig{Enable: true, Idle: time.Second, Interval: time.Second, Count: 2},
	unacknowledged: 1500 * time.Millisecond,
}

// awaitGone reads, and writes where asks is true, until the port is gone.
func awaitGone(t *testing.T, p *Port, asks bool) time.Duration {
	began, b := time.Now(), make([]byte, 16)
	for {
		require.Less(t, time.Since(began), 8*time.Second, "a dead socket is noticed")
		var err error
		if asks {
			err = p.Write(context.Background(), []byte("ask"), time.Now().Add(100*time.Millisecond))
		}
		if err == nil {
			_, err = p.Read(context.Background(), b, time.Now().Add(100*time.Millisecond))
		}
		if !errors.Is(err, ErrTimeout) {
			require.ErrorIs(t, err, ErrGone)
			return time.Since(began)
		}
	}
}

func TestHalfOpenSocketIsNoticed(t *testing.T) {
	for name, asks := range map[string]bool{"while only read": false, "while asked": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := halfOpen(t, short)
			took := awaitGone(t, p, asks)
			assert.Greater(t, took, 900*time.Millisecond)
			t.Logf("noticed after %v", took)
			require.NoError(t, p.Close())
		})
	}
}

func TestSocketsAreProbedAndGivenUpInTenSeconds(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { require.NoError(t, l.Close()) }()
	conn, err := dialTCP(l.Addr().String(), time.Second, usualPatience)
	require.NoError(t, err)
	defer func() { require.NoError(t, conn.Close()) }()
	raw, err := conn.(socket).Conn.(*net.TCPConn).SyscallConn()
	require.NoError(t, err)
	require.NoError(t, raw.Control(func(fd uintptr) {
		for option, want := range map[int]int{
			unix.TCP_USER_TIMEOUT: 10_000, unix.TCP_KEEPIDLE: 4, unix.TCP_KEEPINTVL: 2, unix.TCP_KEEPCNT: 3, unix.TCP_NODELAY: 1,
		} {
			got, err := unix.GetsockoptInt(int(fd), unix.IPPROTO_TCP, option)
			assert.NoError(t, err)
			assert.Equal(t, want, got)
		}
	}))
}
