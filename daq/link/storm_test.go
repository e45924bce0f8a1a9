package link_test

import (
	"errors"
	"runtime"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/daqtest"
	"holdbench/daq/link"
)

func TestDribbledBytesAreAllThere(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		p := cable.Port(t, link.Config{Port: "memory"})
		const n = 300
		for i := range n {
			cable.SendAfter(time.Duration(i+1)*time.Millisecond, []byte{byte(i)})
		}
		began := time.Now()
		b := make([]byte, 64)
		var got []byte
		for len(got) < n {
			k, err := p.Read(t.Context(), b, began.Add(time.Second))
			require.NoError(t, err)
			got = append(got, b[:k]...)
		}
		for i, c := range got {
			require.Equal(t, byte(i), c)
		}
		assert.Equal(t, n*time.Millisecond, time.Since(began), "no byte waits for another")
	})
}

// babble is a line that never falls silent.
type babble struct {
	given  *atomic.Int64
	closed chan struct{}
}

func (c babble) Read(b []byte) (int, error) {
	select {
	case <-c.closed:
		return 0, errors.New("closed")
	default:
	}
	c.given.Add(int64(len(b)))
	return len(b), nil
}
func (c babble) Write(b []byte) (int, error) { return len(b), nil }
func (c babble) Close() error                { close(c.closed); return nil }

// However slowly it is read, and traced or not, what is kept stays bounded,
// and the deadline of an exchange is kept by whoever looks at the clock.
func TestBabblingLineFillsNoMemory(t *testing.T) {
	for _, trace := range []func(link.Traced){nil, func(link.Traced) {}} {
		given := &atomic.Int64{}
		p := link.Over(link.Config{Port: "babble"}, link.Options{Trace: trace}, func() (link.Conn, error) {
			return babble{given, make(chan struct{})}, nil
		})
		require.NoError(t, p.Reopen())
		b, taken := make([]byte, 1), int64(0)
		for range 2000 {
			n, err := p.Read(t.Context(), b, time.Now().Add(time.Second))
			require.NoError(t, err)
			taken += int64(n)
		}
		time.Sleep(10 * time.Millisecond) // the reading goroutine has its say
		const most = 1<<16 + 2*4096
		assert.LessOrEqual(t, given.Load()-taken, int64(most))
		assert.LessOrEqual(t, p.Discard(), most)
		require.NoError(t, p.Close())
	}
}

// A thousand times pulled out and plugged in, also under a reader and a writer
// that never stop: no goroutine, no port and no byte of the time before is
// left behind.
func TestReopenStorm(t *testing.T) {
	cable := &daqtest.Cable{}
	p := cable.Port(t, link.Config{Port: "memory"})
	before := runtime.NumGoroutine()
	b := make([]byte, 16)
	for i := range 1000 {
		cable.Send([]byte("old"))
		if i%2 == 0 {
			cable.Pull()
			require.ErrorIs(t, p.Reopen(), link.ErrNoSuchPort)
			_, err := p.Read(t.Context(), b, time.Now().Add(time.Second))
			require.ErrorIs(t, err, link.ErrGone)
			require.ErrorIs(t, p.Write(t.Context(), b, time.Now().Add(time.Second)), link.ErrGone)
			cable.Plug()
		}
		require.NoError(t, p.Reopen())
		cable.Send([]byte("new"))
		n, err := p.Read(t.Context(), b, time.Now().Add(time.Second))
		require.NoError(t, err)
		require.Equal(t, "new", string(b[:n]))
	}
	assert.Eventually(t, func() bool { return runtime.NumGoroutine() <= before+1 }, time.Second, time.Millisecond)
}

// Close comes from another goroutine while the owner reads and writes.
func TestCloseFromOutsideEndsAReadUnderWay(t *testing.T) {
	for range 100 {
		cable := &daqtest.Cable{}
		p := cable.Port(t, link.Config{Port: "memory"})
		ended := make(chan error, 1)
		go func() {
			_, err := p.Read(t.Context(), make([]byte, 1), time.Now().Add(5*time.Second))
			ended <- err
		}()
		require.NoError(t, p.Close())
		require.ErrorIs(t, <-ended, link.ErrGone)
	}
}
