package link_test

import (
	"bytes"
	"encoding/hex"
	"errors"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/daqtest"
	"holdbench/daq/link"
)

var traceStart = time.Date(2026, 3, 2, 8, 15, 0, 250_000_000, time.FixedZone("", 3600))

func TestTraceIsReadableText(t *testing.T) {
	at := func(d time.Duration) time.Time { return traceStart.Add(d) }
	text := link.AppendTraceHead(nil, traceStart)
	for _, e := range []link.Traced{
		{At: at(0), Link: "rs485", Port: "opened /dev/ttyUSB0"},
		{At: at(120 * time.Microsecond), Link: "rs485", Sent: true, Bytes: []byte{1, 3, 0, 0, 0, 2, 0xc4, 0x0b}},
		{At: at(14873400 * time.Nanosecond), Link: "rs485", Bytes: []byte("\x01 A~\t\x7f\xff")},
		{At: at(time.Hour), Link: "a\tb", Verdict: "line garbled: \"x\n\""},
	} {
		text = link.AppendTrace(text, traceStart, e)
	}
	assert.Equal(t, "holdbench byte trace 1\n"+
		"started\t2026-03-02T07:15:00.250000Z\n"+
		"time [s]\tlink\twhat\tbytes or verdict\tas text\n"+
		"0.000000\trs485\tport\topened /dev/ttyUSB0\n"+
		"0.000120\trs485\tsent\t01 03 00 00 00 02 c4 0b\t........\n"+
		"0.014873\trs485\tcame\t01 20 41 7e 09 7f ff\t. A~...\n"+
		"3600.000000\ta.b\tjudged\tline garbled: \"x.\"\n", string(text))
}

func FuzzTraceKeepsEveryByte(f *testing.F) {
	f.Add([]byte("12.5\r\n"), "rs485", int64(1500), true)
	f.Add([]byte{0, 255}, "a\tb\n", int64(-1), false)
	f.Fuzz(func(t *testing.T, b []byte, name string, us int64, sent bool) {
		us %= 1e12
		if len(b) == 0 {
			return
		}
		line := string(link.AppendTrace(nil, traceStart, link.Traced{At: traceStart.Add(time.Duration(us) * time.Microsecond), Link: name, Sent: sent, Bytes: b}))
		require.Equal(t, len(line)-1, strings.IndexByte(line, '\n'))
		columns := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		require.Len(t, columns, 5)
		seconds, err := strconv.ParseFloat(columns[0], 64)
		require.NoError(t, err)
		require.InDelta(t, float64(us)*1e-6, seconds, 0.6e-6)
		require.Equal(t, sent, columns[2] == "sent")
		back, err := hex.DecodeString(strings.ReplaceAll(columns[3], " ", ""))
		require.NoError(t, err)
		require.Equal(t, b, back)
		require.Len(t, columns[4], len(b))
	})
}

// sheet is a disk that can be full, slow or read while it is written.
type sheet struct {
	mu    sync.Mutex
	text  bytes.Buffer
	full  error
	block chan struct{}
}

func (s *sheet) Write(b []byte) (int, error) {
	if s.block != nil {
		<-s.block
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.full != nil {
		return 0, s.full
	}
	return s.text.Write(b)
}

func (s *sheet) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

func TestTraceIsWrittenOnceASecondAndAtTheEnd(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := &sheet{}
		trace := link.NewTrace(disk, time.Now(), nil)
		trace.Add(link.Traced{At: time.Now(), Link: "a", Bytes: []byte("first")})
		time.Sleep(1100 * time.Millisecond)
		synctest.Wait()
		assert.Contains(t, disk.String(), "first")
		trace.Add(link.Traced{At: time.Now(), Link: "a", Verdict: "last"})
		assert.NotContains(t, disk.String(), "last")
		require.NoError(t, trace.Close())
		assert.Contains(t, disk.String(), "last")
		trace.Add(link.Traced{At: time.Now(), Link: "a", Verdict: "too late"})
		assert.NotContains(t, disk.String(), "too late")
	})
}

func TestFullDiskEndsTheTraceAndNothingElse(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		full := errors.New("no space left on device")
		disk := &sheet{full: full}
		var said []error
		trace := link.NewTrace(disk, time.Now(), func(err error) { said = append(said, err) })
		for range 50 {
			trace.Add(link.Traced{At: time.Now(), Link: "a", Bytes: make([]byte, 4096)})
			time.Sleep(100 * time.Millisecond)
		}
		require.ErrorIs(t, trace.Close(), full)
		assert.Equal(t, []error{full}, said, "once")
	})
}

func TestDiskThatStandsStillHoldsUpNoLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := &sheet{block: make(chan struct{})}
		trace := link.NewTrace(disk, time.Now(), nil)
		began := time.Now()
		for range 3000 { // 48 MB as text
			trace.Add(link.Traced{At: time.Now(), Link: "a", Bytes: make([]byte, 4096)})
		}
		assert.Zero(t, time.Since(began))
		close(disk.block)
		require.NoError(t, trace.Close())
		assert.Regexp(t, `trace\tjudged\t\d+ entries left out: the disk was too slow\n`, disk.String())
		assert.Less(t, len(disk.String()), 34<<20)
	})
}

// The trace of a port says what went, what came and when, and what was made
// of it, in their order.
func TestTraceOfAPortIsInOrder(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		began := time.Now()
		var text []byte
		p := link.Over(link.Config{Name: "rs485", Port: "memory"}, link.Options{
			Trace: func(e link.Traced) { text = link.AppendTrace(text, began, e) },
		}, cable.Dial)
		require.NoError(t, p.Reopen())
		cable.SendAfter(10*time.Millisecond, []byte("stale"))
		time.Sleep(time.Second) // it waits, and is stamped when it came
		require.Equal(t, 5, p.Discard())
		require.NoError(t, p.Write(t.Context(), []byte("ask"), time.Now().Add(time.Second)))
		cable.SendAfter(20*time.Millisecond, []byte("ans"))
		cable.SendAfter(30*time.Millisecond, []byte("wer"))
		time.Sleep(40 * time.Millisecond)
		b := make([]byte, 16)
		n, err := p.Read(t.Context(), b, time.Now())
		require.NoError(t, err)
		require.Equal(t, "answer", string(b[:n]))
		p.Judge("answer")
		cable.Send([]byte("abcd"))
		synctest.Wait()
		for range 2 { // in pieces
			_, err = p.Read(t.Context(), b[:2], time.Now())
			require.NoError(t, err)
		}
		cable.Pull()
		for range 2 {
			_, err = p.Read(t.Context(), b, time.Now().Add(time.Second))
			require.ErrorIs(t, err, link.ErrGone)
		}
		require.Error(t, p.Reopen())
		cable.Plug()
		require.NoError(t, p.Reopen())
		require.NoError(t, p.Close())
		assert.Equal(t, strings.Join([]string{
			"0.000000\trs485\tport\topened memory",
			"0.010000\trs485\tcame\t73 74 61 6c 65\tstale",
			"1.000000\trs485\tsent\t61 73 6b\task",
			"1.020000\trs485\tcame\t61 6e 73\tans",
			"1.030000\trs485\tcame\t77 65 72\twer",
			"1.040000\trs485\tjudged\tanswer",
			"1.040000\trs485\tcame\t61 62\tab",
			"1.040000\trs485\tcame\t63 64\tcd",
			"1.040000\trs485\tport\tgone: input/output error",
			"1.040000\trs485\tport\topened memory",
			"",
		}, "\n"), string(text))
	})
}
