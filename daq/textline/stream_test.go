package textline_test

import (
	"fmt"
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

func TestLinesOfOneReadAreStampedEach(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		config := link.Config{Port: "memory", Baud: 9600, Timeout: 5 * time.Second}
		port := cable.Port(t, config)
		clock := daq.NewWallClock()
		s := textline.NewStream(port, clock, textline.Config{Fields: []textline.Field{{Column: 1}}})
		cable.SendAfter(time.Second, []byte("\n1.00\n2.00\n"))
		dst := make([]daq.Signal, 1)
		character := config.CharacterTime()
		for _, behind := range []time.Duration{10, 5} { // characters from the line's first to the last that came
			require.NoError(t, s.Sample(t.Context(), dst))
			assert.Equal(t, time.Second-behind*character, s.Stamp())
		}
	})
}

// A check in bytes may look like a line's end; no line is lost by that.
func TestEveryCheckInBytesIsRead(t *testing.T) {
	for _, name := range []string{"xor", "sum", "crc16-modbus"} {
		for _, end := range []string{"\r", "\n", "\r\n", "\x03"} {
			sum, _ := textline.SumOf(name)
			c := textline.Config{Terminator: end, Fields: []textline.Field{{Column: 1}},
				Format: textline.Format{Separator: ";", Check: textline.Check{Sum: sum, Form: textline.Bytes}}}
			synctest.Test(t, func(t *testing.T) {
				cable := &daqtest.Cable{}
				port := cable.Port(t, link.Config{Port: "memory", Timeout: time.Second})
				s := textline.NewStream(port, daq.NewWallClock(), c)
				stream := []byte(end)
				const lines = 1500
				for i := range lines {
					stream = append(stream, c.Check.Line("", fmt.Sprintf("%.2f;%d", 100+float64(i)/100, i%77))+end...)
				}
				cable.SendAfter(time.Millisecond, stream)
				dst := make([]daq.Signal, 1)
				read := 0
				for s.Sample(t.Context(), dst) == nil {
					read++
				}
				assert.InDelta(t, lines, read, 1, "%s, %q", name, end) // the last one, and checks like the end of the line before
				assert.LessOrEqual(t, s.Counts().Garbled, 10)
			})
		}
	}
}
