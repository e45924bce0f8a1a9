package textline_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/textline"
)

func TestOldLinesDoNotLookNew(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		port := cable.Port(t, link.Config{Port: "memory", Timeout: 5 * time.Second})
		s := textline.NewStream(port, daq.NewWallClock(), textline.Config{Format: textline.Format{Separator: ","}, Fields: []textline.Field{{Column: 1}}})
		cable.Send([]byte("\n1\n2\n3\n4")) // while nobody reads
		synctest.Wait()
		cable.SendAfter(time.Second, []byte("4\n5\n"))
		dst := make([]daq.Signal, 1)
		require.NoError(t, s.Sample(t.Context(), dst))
		assert.Equal(t, 5.0, dst[0].Raw)
		assert.Equal(t, textline.Counts{Lines: 1, Garbled: 1}, s.Counts())
	})
}

func TestLinesThatCameTogetherAreReadOneByOne(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		port := cable.Port(t, link.Config{Port: "memory", Timeout: 5 * time.Second})
		s := textline.NewStream(port, daq.NewWallClock(), textline.Config{Format: textline.Format{Separator: ","}, Fields: []textline.Field{{Column: 1}}})
		cable.SendAfter(time.Second, []byte("\n1\n2\n"))
		dst := make([]daq.Signal, 1)
		for _, want := range []float64{1, 2} {
			require.NoError(t, s.Sample(t.Context(), dst))
			assert.Equal(t, want, dst[0].Raw)
		}
	})
}

// A stream that sends more slowly than the port's time-out is no silent one.
func TestSlowStreamIsWaitedFor(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		port := cable.Port(t, link.Config{Port: "memory", Timeout: time.Second})
		s := textline.NewStream(port, daq.NewWallClock(), textline.Config{Format: textline.Format{Separator: ","}, Fields: []textline.Field{{Column: 1}}, Interval: 10 * time.Second})
		dst := make([]daq.Signal, 1)
		cable.SendAfter(15*time.Second, []byte("\n1\n"))
		require.NoError(t, s.Sample(t.Context(), dst))
		began := time.Now()
		err := s.Sample(t.Context(), dst)
		require.ErrorIs(t, err, textline.ErrSilent)
		assert.Equal(t, 20*time.Second, time.Since(began))
	})
}
