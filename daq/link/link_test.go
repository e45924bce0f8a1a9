package link_test

import (
	"context"
	"errors"
	"net"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/daqtest"
	"holdbench/daq/link"
)

func TestReadWaitsForBytesUntilItsDeadline(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		p := cable.Port(t, link.Config{Port: "memory"})
		b := make([]byte, 16)

		cable.SendAfter(time.Second, []byte("ab"))
		began := time.Now()
		n, err := p.Read(t.Context(), b, began.Add(2*time.Second))
		require.NoError(t, err)
		assert.Equal(t, "ab", string(b[:n]))
		assert.Equal(t, time.Second, time.Since(began))

		began = time.Now()
		_, err = p.Read(t.Context(), b, began.Add(3*time.Second))
		require.ErrorIs(t, err, link.ErrTimeout)
		assert.EqualError(t, err, "port memory: nothing came in time")
		assert.Equal(t, 3*time.Second, time.Since(began))

		ctx, cancel := context.WithCancel(t.Context())
		time.AfterFunc(time.Second, cancel)
		_, err = p.Read(ctx, b, time.Now().Add(time.Hour))
		require.ErrorIs(t, err, context.Canceled)
	})
}

func TestTakenIsToldBeforeTheNextRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		p := cable.Port(t, link.Config{Port: "memory"})
		b := make([]byte, 3)
		cable.Send([]byte("abcd"))
		_, err := p.Read(t.Context(), b, time.Now().Add(time.Second))
		require.NoError(t, err)
		assert.Equal(t, 0, cable.Taken, "not dealt with yet")
		_, err = p.Read(t.Context(), b, time.Now().Add(time.Second))
		require.NoError(t, err)
		assert.Equal(t, 3, cable.Taken)
		p.Done()
		assert.Equal(t, 4, cable.Taken)
		cable.Send([]byte("efg"))
		synctest.Wait()
		assert.Equal(t, 3, p.Discard())
		assert.Equal(t, 7, cable.Taken)
	})
}

func TestBytesThatCameBeforeThePortWentAreRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		p := cable.Port(t, link.Config{Name: "rs485", Port: "memory"})
		cable.Send([]byte("ab"))
		synctest.Wait()
		cable.Pull()
		b := make([]byte, 16)
		n, err := p.Read(t.Context(), b, time.Now().Add(time.Second))
		require.NoError(t, err)
		assert.Equal(t, 2, n)
		for range 3 {
			_, err = p.Read(t.Context(), b, time.Now().Add(time.Second))
			require.ErrorIs(t, err, link.ErrGone)
		}
		assert.EqualError(t, err, "port rs485 (memory): the port is gone: input/output error")
		require.ErrorIs(t, p.Write(t.Context(), b, time.Now().Add(time.Second)), link.ErrGone)
		require.ErrorIs(t, p.Reopen(), link.ErrNoSuchPort)
		cable.Plug()
		require.NoError(t, p.Reopen())
		require.NoError(t, p.Write(t.Context(), b, time.Now().Add(time.Second)))
	})
}

// stuck is a Conn whose Write blocks until it is let go, whatever is closed.
type stuck struct {
	release chan struct{}
	closed  chan struct{}
}

func (s stuck) Read([]byte) (int, error) { <-s.closed; return 0, errors.New("closed") }
func (s stuck) Write(b []byte) (int, error) {
	<-s.release
	return len(b), nil
}
func (s stuck) Close() error { close(s.closed); return nil }

func TestWriteThatBlocksIsGivenUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		release := make(chan struct{})
		p := link.Over(link.Config{Port: "stuck"}, link.Options{}, func() (link.Conn, error) {
			return stuck{release, make(chan struct{})}, nil
		})
		require.NoError(t, p.Reopen())
		began := time.Now()
		err := p.Write(t.Context(), []byte("x"), began.Add(time.Second))
		require.ErrorIs(t, err, link.ErrTimeout)
		assert.ErrorContains(t, err, "what was to be sent is stuck")
		assert.Equal(t, time.Second, time.Since(began))
		require.ErrorIs(t, p.Write(t.Context(), []byte("x"), time.Now().Add(time.Second)), link.ErrGone)
		_, err = p.Read(t.Context(), make([]byte, 1), time.Now())
		require.ErrorIs(t, err, link.ErrGone)
		require.NoError(t, p.Reopen())
		require.NoError(t, p.Close())
		require.NoError(t, p.Close(), "closing again does nothing")
		close(release)
	})
}

func TestMoreThanIsKeptIsLeftWithTheSystem(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		p := cable.Port(t, link.Config{Port: "memory"})
		const much = 1 << 18
		cable.Send(make([]byte, much))
		synctest.Wait()
		b := make([]byte, 5000)
		for got := 0; got < much; {
			n, err := p.Read(t.Context(), b, time.Now().Add(time.Second))
			require.NoError(t, err)
			got += n
		}
		_, err := p.Read(t.Context(), b, time.Now().Add(time.Second))
		require.ErrorIs(t, err, link.ErrTimeout)
	})
}

func TestTCP(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	port := "tcp://" + l.Addr().String()
	far := make(chan net.Conn, 1)
	go func() {
		conn, err := l.Accept()
		if err == nil {
			far <- conn
		}
	}()
	p, err := link.Open(link.Config{Port: port}, link.Options{})
	require.NoError(t, err)
	conn := <-far
	_, err = conn.Write([]byte("ab"))
	require.NoError(t, err)
	b := make([]byte, 16)
	n, err := p.Read(t.Context(), b, time.Now().Add(5*time.Second))
	require.NoError(t, err)
	assert.Equal(t, "ab", string(b[:n]))
	_, err = p.Read(t.Context(), b, time.Now().Add(150*time.Millisecond))
	require.ErrorIs(t, err, link.ErrTimeout)
	require.NoError(t, p.Write(t.Context(), []byte("cd"), time.Now().Add(time.Second)))
	n, err = conn.Read(b)
	require.NoError(t, err)
	assert.Equal(t, "cd", string(b[:n]))
	require.NoError(t, conn.Close())
	_, err = p.Read(t.Context(), b, time.Now().Add(5*time.Second))
	require.ErrorIs(t, err, link.ErrGone)
	require.NoError(t, l.Close())
	require.ErrorIs(t, p.Reopen(), link.ErrNoSuchPort)
	require.NoError(t, p.Close())
}

func TestFramingIsChecked(t *testing.T) {
	for want, c := range map[string]link.Config{
		"baud -1":    {Baud: -1},
		"baud 0":     {},
		"data bits":  {Baud: 9600, DataBits: 5},
		"parity":     {Baud: 9600, Parity: "mark"},
		"stop bits ": {Baud: 9600, StopBits: 3},
	} {
		c.Port = "nowhere"
		_, err := link.Open(c, link.Options{})
		assert.ErrorContains(t, err, want)
	}
}

func TestPortsAreSorted(t *testing.T) {
	ports, err := link.Ports()
	require.NoError(t, err)
	for i, p := range ports {
		assert.NotEmpty(t, p.Name)
		if i > 0 {
			assert.Less(t, ports[i-1].Name, p.Name)
		}
	}
}
