package textline

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
)

// layouts are lines of every kind that is read.
func layouts(t testing.TB) []Config {
	bar := unitOf(t, "bar", si.Pressure)
	two := 2
	return []Config{
		{Fields: []Field{{Column: 1}}},
		{Format: Format{Separator: ","}, Fields: []Field{{Column: 1}, {Column: 2, Unit: bar}}},
		{Format: Format{Separator: ";", Comment: []string{"#"}}, Fields: []Field{{Column: 2, Unit: bar, UnitColumn: 3}, {Column: 1, Decimals: &two}}},
		{Format: Format{Separator: " ", Prefix: "\x02", Suffix: "\x03"}, Fields: []Field{{Column: 1, Unit: bar, Written: "BARG"}}},
		{Format: Format{Separator: "\t"}, Fields: []Field{{Name: "P1", Unit: bar}, {Column: 3, On: "ON", Off: "0"}}},
		{Format: Format{Length: 12}, Fields: []Field{{From: 1, To: 6}, {From: 7, To: 12}}},
		{Fields: []Field{{Pattern: regexp.MustCompile(`P=([-+.,0-9eE]*)`)}}},
		{Format: Format{Separator: ";", Prefix: "$", Check: Check{Sum: sumOf(t, "xor"), Form: Hex, After: "*"}}, Fields: []Field{{Column: 1}}},
		{Format: Format{Separator: ";", Check: Check{Sum: sumOf(t, "crc16-modbus"), Form: Bytes, LowFirst: true}}, Terminator: "\r", Fields: []Field{{Column: 1}}},
		{Format: Format{Separator: ";", Check: Check{Sum: sumOf(t, "sum"), Form: Bytes, After: "\x03"}}, Terminator: "\x03", Fields: []Field{{Column: 1}}},
		{Format: Format{Separator: ";", Check: Check{Sum: sumOf(t, "sum"), Form: Decimal, After: ";"}}, Terminator: "\r\n", Fields: []Field{{Column: 1}}},
	}
}

var lineSeeds = []string{
	"", "12.5", "+012.50", "1,5", "3.4,5 bar", "1;2.5;bar", "2.50;1250;kPa", "# comment;1;2", "\x0212.5BARG 7\x03", "P1=12.3\tx\tON", "P1 = 1E3\tP2\t0",
	"+01.50-02.25", "P=1,5", "$12.5;7*1A", "12.5\x03\x00", "OL,----", "9.91E37,-9.9E37", "#15HELLO", "\xb0C;2.5;\xb0C", "pressure [bar],T", "1e999,5",
}

// A line that is accepted has signals that print and are read again to the
// same, in the place of the number.
func FuzzStreamLine(f *testing.F) {
	all := layouts(f)
	for i, s := range lineSeeds {
		f.Add(s, i)
	}
	f.Fuzz(func(t *testing.T, line string, which int) {
		c := all[uint(which)%uint(len(all))]
		dst := make([]daq.Signal, len(c.Fields))
		taken, err := c.read(line, c.Fields, dst)
		if err != nil {
			return
		}
		for k, s := range dst {
			if s.Health != daq.Healthy {
				assert.True(t, math.IsNaN(s.Raw))
				continue
			}
			require.False(t, math.IsNaN(s.Raw) || math.IsInf(s.Raw, 0), "%q gave %v", line, s.Raw)
			if c.Fields[k].On != "" {
				assert.Contains(t, []float64{0, 1}, s.Raw)
				continue
			}
			again, ok := parseNumber(strconv.FormatFloat(s.Raw, 'g', -1, 64), c.comma())
			require.True(t, ok)
			assert.Equal(t, s.Raw, again.signal.Raw)
			assert.True(t, taken.values[k].isNumber)
		}
		// The same line is read to the same.
		twice := make([]daq.Signal, len(c.Fields))
		require.NoError(t, c.Read(line, c.Fields, twice))
		for k := range dst {
			assert.Equal(t, dst[k].Health, twice[k].Health)
		}
	})
}

// A stream that is cut otherwise gives the same lines.
func FuzzSplitter(f *testing.F) {
	f.Add([]byte("3.4,5\n1,5\r\n2,52,5\nOL,----\n"), 3, 0)
	f.Add([]byte("\r+9.9E37;1,5\r\x00\xff"), 1, 8)
	f.Add([]byte("\x0212.5\x03A\x0212.6\x03B"), 2, 9)
	f.Add([]byte("12.5;1\r\r\n12.6;2\r\n\r\n"), 5, 10)
	all := layouts(f)
	f.Fuzz(func(t *testing.T, b []byte, piece, which int) {
		if len(b) > longest { // what is too long depends on when it came
			return
		}
		c := all[uint(which)%uint(len(all))]
		lines := func(piece int) (out []string, lost int) {
			s := c.splitter()
			for i := 0; i < len(b); i += piece {
				s.add(b[i:min(i+piece, len(b))])
				for line, ok := s.next(); ok; line, ok = s.next() {
					out = append(out, line)
				}
			}
			return out, s.lost
		}
		whole, lost := lines(max(1, len(b)))
		cut, lostCut := lines(1 + int(uint(piece)%64))
		assert.Equal(t, whole, cut)
		assert.Equal(t, lost, lostCut)
		for _, l := range whole {
			assert.True(t, strings.Contains(string(b), l))
		}
	})
}

// Whatever answers, a reading is one that the format reads by itself in one of
// the lines that came.
func FuzzAskedReply(f *testing.F) {
	for i, s := range lineSeeds {
		f.Add([]byte(s+"\n"), i)
	}
	f.Add([]byte("MEAS?\r\n12.5\r\n"), 0)
	f.Add([]byte("#210AB\n+12.5\n"), 0)
	all := layouts(f)
	f.Fuzz(func(t *testing.T, reply []byte, which int) {
		c := all[uint(which)%uint(len(all))]
		synctest.Test(t, func(t *testing.T) {
			cable := &daqtest.Cable{}
			port := cable.Port(t, link.Config{Port: "memory", Timeout: 100 * time.Millisecond})
			cable.Heard = func([]byte) { cable.Send(reply) }
			signals := make([]int, len(c.Fields))
			for i := range signals {
				signals[i] = i
			}
			a := NewAsked(NewDialogue(port, daq.NewWallClock()), AskConfig{Name: "m", Format: c.Format, Terminator: c.Terminator,
				Queries: []Query{{Text: "MEAS?", Fields: c.Fields, Signals: signals}}})
			dst := make([]daq.Signal, len(c.Fields))
			if err := a.Sample(t.Context(), dst); err != nil {
				require.ErrorIs(t, err, link.ErrTimeout)
				return
			}
			s := c.splitter()
			s.inStep = true
			s.add(reply)
			for line, ok := s.next(); ok; line, ok = s.next() {
				if strings.Trim(line, "\r\n\x00 ") == "" {
					continue // a blank line before a reply is none
				}
				alone := make([]daq.Signal, len(c.Fields))
				if c.Read(line, c.Fields, alone) == nil {
					for k := range alone {
						assert.Equal(t, alone[k].Health, dst[k].Health)
						assert.True(t, alone[k].Raw == dst[k].Raw || alone[k].Health != daq.Healthy)
					}
					return
				}
			}
			t.Fatalf("%q gave %v, and no line of it is a reading", reply, dst)
		})
	})
}

// A check that was written is right, and no flipped bit of the text goes
// unseen.
func FuzzChecksum(f *testing.F) {
	f.Add("12.5;21.0", "$", 0, 0, 3)
	f.Add("", "", 3, 1, 0)
	f.Add("1*2", "\x02", 4, 2, 9)
	f.Fuzz(func(t *testing.T, body, prefix string, which, form, flip int) {
		c := Check{Sum: Sums[uint(which)%uint(len(Sums))], Form: []SumForm{Hex, Decimal, Bytes}[uint(form)%3], After: []string{"*", "\x03", ";"}[uint(flip)%3],
			WithPrefix: form&4 != 0, WithAfter: form&8 != 0, LowFirst: form&16 != 0}
		line := c.Line(prefix, body)
		text := line[len(prefix):]
		if c.Form == Bytes && strings.Contains(c.Write(c.checked(prefix, body)), c.After) {
			return // the mark stands in the check itself
		}
		got, err := c.take(prefix, text)
		require.NoError(t, err)
		require.Equal(t, body, got)
		if body == "" {
			return
		}
		broken := []byte(text)
		bit := uint(flip) % uint(8*len(body))
		broken[bit/8] ^= 1 << (bit % 8)
		if got, err := c.take(prefix, string(broken)); err == nil {
			t.Fatalf("%q was taken for sound, and gave %q", broken, got)
		}
	})
}

// Whatever was captured, a proposal reads as many lines as it says.
func FuzzPropose(f *testing.F) {
	f.Add("12.5;21.0\n12.6;21.1\n12.7;21.0\n")
	f.Add(strings.Join(lineSeeds, "\n"))
	f.Add("P1=1;T=2\n# x\nP1=3;T=4\n")
	f.Fuzz(func(t *testing.T, captured string) {
		if len(captured) > 2000 {
			return
		}
		p, ok := Propose(strings.Split(captured, "\n"))
		if !ok {
			return
		}
		assert.Positive(t, p.Read)
		fields := p.numbers()
		n := 0
		for _, l := range strings.Split(captured, "\n") {
			if l = strings.Trim(l, "\r\n\x00"); strings.TrimSpace(l) != "" && p.Format.Read(l, fields, make([]daq.Signal, len(fields))) == nil {
				n++
			}
		}
		assert.GreaterOrEqual(t, n+p.Garbled+p.Passed, p.Read)
	})
}
