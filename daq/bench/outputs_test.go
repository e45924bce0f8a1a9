package bench_test

import (
	"context"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// relayBench is a module that is read and whose coil 3 is a pump's.
func relayBench(t *testing.T, drives bool) *bench.Bench {
	b, err := bench.Parse("bench.toml", []byte(`name = "relays"
[[link]]
name = "rs485"
port = "COM3"
baud = 19200
timeout = "200 ms"
[[instrument]]
name = "module"
kind = "modbus-rtu"
link = "rs485"
address = 5
interval = "0.1 s"
[[channel]]
name = "p"
quantity = "pressure"
instrument = "module"
function = 3
register = 0
type = "int16"
raw_unit = "bar"
reference = "gauge"
[[output]]
name = "pump"
role = "pump"
instrument = "module"
function = 5
register = 3
`))
	require.NoError(t, err)
	b.DrivesOutputs = drives
	return b
}

// heard is a module at the end of a cable that keeps every function asked of it.
type heard struct {
	daqtest.Cable
	mu        sync.Mutex
	functions []byte
	coil      uint16
}

func newHeard(t *testing.T) *heard {
	h := &heard{}
	h.Heard = func(frame []byte) {
		r, err := modbus.ParseRequest(frame)
		require.NoError(t, err, "% x", frame)
		h.mu.Lock()
		h.functions = append(h.functions, r.Function)
		var values []uint16
		switch r.Function {
		case modbus.ReadHolding:
			values = []uint16{42}
		case modbus.ReadCoils:
			values = []uint16{h.coil}
		case modbus.WriteCoil:
			h.coil = r.Values[0]
		}
		h.mu.Unlock()
		h.SendAfter(5*time.Millisecond, r.Reply(values))
	}
	return h
}

// since are the functions asked after the first n.
func (h *heard) since(n int) []byte {
	h.mu.Lock()
	defer h.mu.Unlock()
	return append([]byte(nil), h.functions[n:]...)
}

// lived is all that a scanned bench can go through: orders, a cable that is
// pulled and put in again, a panic at the end. It returns from where on what was
// heard came after the cable was put in again.
func lived(t *testing.T, b *bench.Bench, h *heard) (again int) {
	clock := daq.NewWallClock()
	w, err := b.Wire(clock, bench.WireOptions{Dial: func(string) (link.Conn, error) { return h.Dial() }})
	require.NoError(t, err)
	probed, err := w.Probe(t.Context(), clock, time.Second)
	require.NoError(t, err)
	require.NotEmpty(t, probed[0].Scans)
	assert.NotContains(t, h.since(0), byte(modbus.WriteCoil), "who looks writes nothing, with or without leave")

	s := daq.NewScanner(clock, w.Lines)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	over := make(chan error, 1)
	go func() { over <- s.Run(ctx) }()
	time.Sleep(time.Second)
	err = s.Drive(ctx, "pump", true, "a test")
	assert.Equal(t, b.DrivesOutputs, err == nil, "%v", err)
	time.Sleep(time.Second)
	h.Pull()
	time.Sleep(2 * time.Second)
	again = len(h.since(0))
	h.Plug()
	time.Sleep(10 * time.Second)
	s.Subscribe(func(daq.Scan) error { panic("a fault of the program") })
	var p *daq.PanicError
	require.ErrorAs(t, <-over, &p)
	require.NoError(t, w.Close())
	return again
}

// On the wire itself: without outputs = true no frame that writes goes out,
// whatever a bench lives through.
func TestNoFrameThatWritesGoesOutWithoutLeave(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHeard(t)
		lived(t, relayBench(t, false), h)
		require.NotEmpty(t, h.since(0))
		for _, f := range h.since(0) {
			require.Equal(t, byte(modbus.ReadHolding), f)
		}
	})
}

// With it, the first frame on a line that is back switches the pump off, and so
// does the last one but the reading back.
func TestSafeStateIsTheFirstFrameOnALineThatIsBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHeard(t)
		again := lived(t, relayBench(t, true), h)
		functions := h.since(again)
		require.NotEmpty(t, functions)
		assert.Equal(t, []byte{modbus.WriteCoil, modbus.ReadCoils, modbus.ReadHolding}, functions[:3])
		assert.Equal(t, []byte{modbus.WriteCoil, modbus.ReadCoils}, functions[len(functions)-2:])
		assert.Zero(t, h.coil)
	})
}
