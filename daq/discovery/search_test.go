package discovery_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// shop is a line with slaves on it that understand one framing only, and a
// note of everything that was sent.
type shop struct {
	t       *testing.T
	framing discovery.Framing
	slaves  []daqtest.Slave
	garble  bool // answers with garbage to any other framing
	sent    []modbus.Request
	times   []time.Time
	cable   *daqtest.Cable
}

func (s *shop) open(f discovery.Framing) (discovery.Asker, func() error, error) {
	s.cable = &daqtest.Cable{}
	s.cable.Heard = func(b []byte) {
		r, err := modbus.ParseRequest(b)
		require.NoError(s.t, err)
		s.sent, s.times = append(s.sent, r), append(s.times, time.Now())
		if f != s.framing {
			if s.garble {
				s.cable.SendAfter(5*time.Millisecond, []byte{0xff, 0x12, 0x80, 0x33, 0xe0, 0xe0})
			}
			return
		}
		for _, slave := range s.slaves {
			if answer := slave.Answer(b); answer != nil {
				s.cable.SendAfter(5*time.Millisecond, answer)
			}
		}
	}
	port := link.Over(f.Config(link.Config{Name: "search", Port: "memory", Timeout: 200 * time.Millisecond}), link.Options{}, s.cable.Dial)
	if err := port.Reopen(); err != nil {
		return nil, nil, err
	}
	return modbus.NewClient(port, daq.NewWallClock()), port.Close, nil
}

func search(s *shop) discovery.Search {
	return discovery.Search{
		Open: s.open, Framings: discovery.ModbusFramings[:4],
		Addresses: []byte{1, 2, 3, 4, 5}, Pace: 100 * time.Millisecond,
	}
}

func TestSearchFindsFramingAndAddresses(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &shop{t: t, framing: discovery.ModbusFramings[2], slaves: []daqtest.Slave{
			{Address: 2, Registers: map[uint16]uint16{0: 7}},
			{Address: 5, Registers: map[uint16]uint16{100: 7}}, // refuses register 0
		}}
		out, err := search(s).Run(t.Context())
		require.NoError(t, err)
		assert.Equal(t, []discovery.Found{
			{Framing: s.framing, Address: 2},
			{Framing: s.framing, Address: 5, Refused: modbus.Exception(2)},
		}, out.Found)
		assert.Equal(t, out.Asked, len(s.sent))
		for i, r := range s.sent {
			assert.Contains(t, []byte{3, 4}, r.Function, "nothing is written")
			if i > 0 {
				assert.GreaterOrEqual(t, s.times[i].Sub(s.times[i-1]), 100*time.Millisecond, "no oftener than said")
			}
		}
	})
}

func TestSearchOfAnEmptyLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &shop{t: t}
		out, err := search(s).Run(t.Context())
		require.NoError(t, err)
		assert.Empty(t, out.Found)
		assert.Empty(t, out.Garbled)
		assert.Equal(t, 20, out.Asked, "one question an address where nobody answers")
	})
}

func TestSearchSaysWhereBytesCame(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &shop{t: t, garble: true}
		out, err := search(s).Run(t.Context())
		require.NoError(t, err)
		assert.Empty(t, out.Found)
		assert.Len(t, out.Garbled, 20)
	})
}

func TestSearchCanBeStopped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &shop{t: t, framing: discovery.ModbusFramings[0], slaves: []daqtest.Slave{{Address: 1, Registers: map[uint16]uint16{0: 7}}}}
		ctx, cancel := context.WithCancel(t.Context())
		q := search(s)
		q.Tell = func(_ discovery.Framing, address byte, _ []discovery.Found) {
			if address == 3 {
				cancel()
			}
		}
		out, err := q.Run(ctx)
		require.NoError(t, err)
		assert.Len(t, out.Found, 1, "what was found stays found")
	})
}

func TestSearchTellsOfAPortThatIsGone(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &shop{t: t}
		q := search(s)
		q.Tell = func(_ discovery.Framing, address byte, _ []discovery.Found) {
			if address == 2 {
				s.cable.Pull()
			}
		}
		_, err := q.Run(t.Context())
		require.ErrorIs(t, err, link.ErrGone)
		q.Open = func(discovery.Framing) (discovery.Asker, func() error, error) { return nil, nil, errors.New("no") }
		_, err = q.Run(t.Context())
		require.EqualError(t, err, "no")
	})
}

func TestScanFindsTheRegistersThereAre(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		registers := map[uint16]uint16{}
		for _, r := range []uint16{0, 1, 2, 3, 10, 11, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30, 31, 40} {
			registers[r] = 100 + r
		}
		s := &shop{t: t, framing: discovery.ModbusFramings[0], slaves: []daqtest.Slave{{Address: 1, Registers: registers}}}
		line, closeLine, err := s.open(s.framing)
		require.NoError(t, err)
		found, err := discovery.Scan(t.Context(), line, 1, 0, 127, 10*time.Millisecond, nil)
		require.NoError(t, err)
		require.NoError(t, found.Merge(t.Context()))
		snapshot, err := found.Snapshot(t.Context())
		require.NoError(t, err)
		assert.Equal(t, registers, snapshot[modbus.ReadInput])
		assert.Equal(t, registers, snapshot[modbus.ReadHolding])
		assert.Equal(t, 2*len(registers), found.Count())
		for _, r := range s.sent {
			assert.Contains(t, []byte{3, 4}, r.Function)
			assert.LessOrEqual(t, int(r.Start)+int(r.Count), 128)
		}

		s.slaves = nil
		_, err = discovery.Scan(t.Context(), line, 1, 0, 127, 10*time.Millisecond, nil)
		require.ErrorIs(t, err, modbus.ErrNoAnswer)
		require.NoError(t, closeLine())
	})
}

// talker is a port on which an instrument sends lines with one framing, and
// bytes without sense with any other.
func talker(framing discovery.Framing, lines ...string) func(discovery.Framing) (*link.Port, error) {
	return func(f discovery.Framing) (*link.Port, error) {
		cable := &daqtest.Cable{}
		port := link.Over(f.Config(link.Config{Name: "talk", Port: "memory"}), link.Options{}, cable.Dial)
		if err := port.Reopen(); err != nil || len(lines) == 0 {
			return port, err
		}
		for k := range 40 {
			b := []byte(lines[k%len(lines)])
			if f != framing {
				for i := range b {
					b[i] |= 0x80
				}
			}
			cable.SendAfter(time.Duration(k)*500*time.Millisecond+300*time.Millisecond, b)
		}
		return port, nil
	}
}

func TestListenFindsLinesOfText(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		framing := discovery.TextFramings[2]
		heard, err := discovery.Listen(t.Context(), talker(framing, "21.50;22.4\r\n", "21.51;22.4\r\n"), discovery.TextFramings, 3*time.Second, nil)
		require.NoError(t, err)
		assert.Equal(t, framing, heard.Framing)
		require.GreaterOrEqual(t, len(heard.Texts), 8)
		for _, line := range heard.Texts {
			assert.Regexp(t, `^21\.5[01];22\.4$`, line)
		}
		assert.InDelta(t, 0.5, heard.Every.Seconds(), 0.01)
		time.Sleep(time.Minute) // what is still to be sent finds nobody
	})
}

func TestListenGivesUpOnASilentLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		began := time.Now()
		heard, err := discovery.Listen(t.Context(), talker(discovery.Framing{}), discovery.TextFramings, 3*time.Second, nil)
		require.NoError(t, err)
		assert.Zero(t, heard.Bytes)
		assert.Empty(t, heard.Texts)
		assert.Equal(t, 6*time.Second, time.Since(began), "two framings show any sender")
	})
}

func TestListenOnALineOfOthers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := modbus.Request{Address: 1, Function: 4, Count: 3}
		heard, err := discovery.Listen(t.Context(), talker(discovery.TextFramings[0], string(r.Frame()), string(r.Reply([]uint16{1, 2, 3}))),
			discovery.TextFramings[:2], 3*time.Second, nil)
		require.NoError(t, err)
		assert.Empty(t, heard.Texts)
		assert.Contains(t, heard.Guess, "Modbus RTU")
		time.Sleep(time.Minute)
	})
}
