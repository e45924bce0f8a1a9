package simbench

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/modbus"
)

// testBus is the test bench's bus, with a unit without noise at rest.
func testBus(t *testing.T) *bus {
	t.Helper()
	b := everyKindBench(t)
	r, err := New(b, NewLockStep(morning), 1)
	require.NoError(t, err)
	truth := DefaultTruth(b)
	truth.Sensors = Sensors{}
	r.Mount(truth)
	out := newBus()
	for _, in := range b.Instruments {
		if in.Kind == bench.ModbusRTU {
			out.add(newModule(r, in))
		}
	}
	return out
}

func ask(b *bus, r modbus.Request) [][]byte { return b.take(r.Frame(), time.Now()) }

func TestBusAnswersWhatItHas(t *testing.T) {
	b := testBus(t)
	r := modbus.Request{Address: 1, Function: modbus.ReadInput, Start: 0, Count: 1}
	replies := ask(b, r)
	require.Len(t, replies, 1)
	got, err := r.Parse(replies[0])
	require.NoError(t, err)
	// No pressure, indicated 0.2 bar: 4 mA + 16 mA · 0.2/250, in µA.
	assert.Equal(t, []uint16{4013}, got)

	r = modbus.Request{Address: 7, Function: modbus.ReadInput, Start: 100, Count: 3}
	replies = ask(b, r)
	require.Len(t, replies, 1)
	got, err = r.Parse(replies[0])
	require.NoError(t, err)
	// 1013.25 hPa absolute in psi (NIST SP 811, B.8: 6894.757 Pa), then in 0.1 hPa.
	assert.InDelta(t, 14.69595, modbus.Format{Type: modbus.Float32}.Decode(got), 1e-5)
	assert.EqualValues(t, 10133, got[2])
}

func TestBusRefusesWhatItHasNot(t *testing.T) {
	for _, c := range []struct {
		name string
		r    modbus.Request
		want modbus.Exception
	}{
		{"unknown register", modbus.Request{Address: 1, Function: 4, Start: 1, Count: 1}, modbus.IllegalAddress},
		{"past the last register", modbus.Request{Address: 7, Function: 4, Start: 102, Count: 2}, modbus.IllegalAddress},
		{"register of the other function", modbus.Request{Address: 1, Function: 3, Start: 0, Count: 1}, modbus.IllegalAddress},
		{"none", modbus.Request{Address: 1, Function: 4, Start: 0, Count: 0}, modbus.IllegalValue},
		{"too many", modbus.Request{Address: 1, Function: 4, Start: 0, Count: 126}, modbus.IllegalValue},
		{"unknown function", modbus.Request{Address: 1, Function: 7, Start: 0, Count: 1}, modbus.IllegalFunction},
		{"written where nothing may be", modbus.Write(1, modbus.WriteRegister, 0, 1), modbus.IllegalAddress},
	} {
		t.Run(c.name, func(t *testing.T) {
			replies := ask(testBus(t), c.r)
			require.Len(t, replies, 1)
			assert.Equal(t, c.r.Refusal(c.want), replies[0])
		})
	}
}

func TestBusIsSilentForOthers(t *testing.T) {
	b := testBus(t)
	assert.Empty(t, ask(b, modbus.Request{Address: 2, Function: 4, Start: 0, Count: 1}))
	assert.Empty(t, ask(b, modbus.Request{Address: 0, Function: 4, Start: 0, Count: 1}), "broadcast")
	assert.Len(t, ask(b, modbus.Request{Address: 1, Function: 4, Start: 0, Count: 1}), 1, "and goes on")
}

func TestBusTakesRequestsInPiecesAndForgetsRubbish(t *testing.T) {
	b := testBus(t)
	frame := modbus.Request{Address: 1, Function: 4, Start: 0, Count: 1}.Frame()
	now := time.Now()
	for i, one := range frame {
		now = now.Add(pause / 4)
		replies := b.take([]byte{one}, now)
		assert.Equal(t, i == len(frame)-1, len(replies) == 1)
	}
	assert.Len(t, b.take(append(frame, frame...), now), 2, "two at once")

	damaged := append([]byte(nil), frame...)
	damaged[3] ^= 1
	assert.Empty(t, b.take(damaged, now))
	assert.Len(t, b.take(frame, now.Add(2*pause)), 1, "forgotten after a pause")
	assert.Empty(t, b.take(make([]byte, 2*longest), now.Add(4*pause)))
	assert.LessOrEqual(t, len(b.buf), longest)
}

func TestWordsOfEachType(t *testing.T) {
	assert.Equal(t, uint16(0xFFFE), words(bench.Channel{Type: "int16"}, -2.4)[0])
	assert.Equal(t, uint16(0x7FFF), words(bench.Channel{Type: "int16"}, 40000)[0], "stuck at its end")
	// 1.0 is 3F800000 in IEEE 754 single precision.
	assert.Equal(t, []uint16{0x3F80, 0}, words(bench.Channel{Type: "float32", WordOrder: "high-first"}, 1))
	assert.Equal(t, []uint16{0, 0x3F80}, words(bench.Channel{Type: "float32", WordOrder: "low-first"}, 1))
}

func TestIndicatedIsTheCertificateBackwards(t *testing.T) {
	c := &bench.Calibration{Points: []bench.CalibrationPoint{{Reference: 0, Indicated: 2}, {Reference: 100, Indicated: 104}}}
	for value, want := range map[float64]float64{-10: -8, 0: 2, 50: 53, 100: 104, 120: 124} {
		assert.InDelta(t, want, indicated(c, value), 1e-12)
	}
	assert.Equal(t, 7.0, indicated(nil, 7))
}
