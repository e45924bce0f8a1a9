package bench_test

import (
	"context"
	"fmt"
	"math"
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
	"holdbench/daq/textline"
)

// listen serves each connection to a loopback port and returns it as a link's
// port.
func listen(t *testing.T, serve func(net.Conn)) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, l.Close()) })
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go serve(conn)
		}
	}()
	return "tcp://" + l.Addr().String()
}

func streaming(every time.Duration, line string) func(net.Conn) {
	return func(conn net.Conn) {
		for k := 0; ; k++ {
			if _, err := fmt.Fprintf(conn, line, 20+float64(k)/100); err != nil {
				return
			}
			time.Sleep(every)
		}
	}
}

var slave = daqtest.Slave{Address: 5, Registers: map[uint16]uint16{
	0: 12000,             // µA of a 4–20 mA loop
	2: 0x0000, 3: 0x42C8, // float32 100, low word first
	8: 0x447D, 9: 0x5000, // float32 1013.25
}}

// wired is a bench with a Modbus module and a thermometer that streams.
func wired(module, thermometer string) *bench.Bench {
	nan := math.NaN()
	return &bench.Bench{
		Name: "bench",
		Links: []bench.Link{
			{Name: "rs485", Port: module, Baud: 115200, Timeout: time.Second},
			{Name: "text", Port: thermometer, Timeout: time.Second},
			{Name: "spare", Port: "nowhere", Baud: 9600},
		},
		Instruments: []bench.Instrument{
			{Name: "module", Kind: bench.ModbusRTU, Link: "rs485", Address: 5, Interval: 20 * time.Millisecond},
			{Name: "probe", Kind: bench.TextStream, Link: "text", Separator: ";", Interval: 20 * time.Millisecond},
		},
		Channels: []bench.Channel{
			{Name: "trapped_a", Quantity: si.Pressure, Instrument: "module", Function: 4, Register: 0, Type: "int16",
				RawScale: 0.001, RawUnit: "mA", RawQuantity: si.Current,
				Scaling:  &bench.Scaling{SignalLow: 4e-3, SignalHigh: 20e-3, ValueLow: 0, ValueHigh: 250e5},
				RangeLow: 0, RangeHigh: 250e5},
			{Name: "body", Quantity: si.Temperature, Instrument: "probe", Column: 2, RawScale: 1, RawUnit: "°C",
				RawQuantity: si.Temperature, RangeLow: nan, RangeHigh: nan},
			{Name: "feed", Quantity: si.Pressure, Instrument: "module", Function: 4, Register: 2, Type: "float32",
				WordOrder: "low-first", RawScale: 1, RawUnit: "bar", RawQuantity: si.Pressure, Absolute: true,
				RangeLow: 0, RangeHigh: 250e5,
				Calibration: &bench.Calibration{Points: []bench.CalibrationPoint{{Reference: 0, Indicated: 1e5}}}},
			{Name: "air", Quantity: si.Pressure, Instrument: "module", Function: 4, Register: 8, Type: "float32",
				WordOrder: "high-first", RawScale: 1, RawUnit: "mbar", RawQuantity: si.Pressure, Absolute: true,
				RangeLow: nan, RangeHigh: nan},
		},
		Ambient: bench.Ambient{Channel: "air", Pressure: uncertainty.Estimate{Value: 95000}},
	}
}

// A reading that is not believed because of those before it is written down all
// the same: it may have been a pipe that burst.
func TestWhatIsNotBelievedIsKept(t *testing.T) {
	b := wired("nowhere", "nowhere")
	for _, doubted := range []bool{false, true} {
		if doubted {
			b.Channels[1].Fastest, b.Channels[3].StuckAfter = 5, time.Minute
		}
		w, err := b.Wire(daq.NewWallClock(), bench.WireOptions{Partial: true})
		require.NoError(t, err)
		assert.Equal(t, doubted, w.Channels[1].Converted)
		assert.Equal(t, doubted, w.Channels[3].Converted)
		require.NoError(t, w.Close())
	}
}

func TestWireReadsABench(t *testing.T) {
	module := listen(t, func(c net.Conn) { slave.Serve(c) })
	thermometer := listen(t, streaming(20*time.Millisecond, "1;%.2f;0\r\n"))
	b := wired("tcp://127.0.0.1:1", thermometer)
	clock := daq.NewWallClock()
	w, err := b.Wire(clock, bench.WireOptions{Ports: map[string]string{"rs485": module}})
	require.NoError(t, err)
	defer func() { require.NoError(t, w.Close()) }()

	require.Len(t, w.Lines, 2, "a link that nobody uses is left alone")
	assert.Equal(t, []daq.Channel{
		{Name: "trapped_a", Quantity: si.Pressure, Converted: true, RawUnit: "mA", Instrument: "module", Interval: 20 * time.Millisecond},
		{Name: "body", Quantity: si.Temperature, RawUnit: "°C", Instrument: "probe", Interval: 20 * time.Millisecond},
		{Name: "feed", Quantity: si.Pressure, Converted: true, RawUnit: "bar", Instrument: "module", Interval: 20 * time.Millisecond},
		{Name: "air", Quantity: si.Pressure, RawUnit: "mbar", Instrument: "module", Interval: 20 * time.Millisecond},
	}, w.Channels)

	probes, err := w.Probe(t.Context(), clock, 500*time.Millisecond)
	require.NoError(t, err)
	require.Len(t, probes, 2)
	for _, p := range probes {
		require.NoError(t, p.Err, p.Instrument)
		require.Greater(t, len(p.Scans), 3, p.Instrument)
	}
	last := probes[0].Scans[len(probes[0].Scans)-1]
	value := map[int]daq.Reading{}
	for _, r := range last.Readings {
		require.Equal(t, daq.Healthy, r.Health)
		value[r.Channel] = r
	}
	assert.InDelta(t, 125e5, value[0].Value, 1e-3)
	assert.InDelta(t, 12, value[0].Raw, 1e-9)
	assert.InDelta(t, 101325, value[3].Value, 1e-6, "what measures the air stays absolute")
	assert.InDelta(t, 100e5-1e5-101325, value[2].Value, 1e-3, "gauge by the measured air")
	body := probes[1].Scans[0].Readings
	require.Len(t, body, 1)
	assert.Equal(t, 1, body[0].Channel)
	assert.InDelta(t, 293.15, body[0].Value, 2)
}

func TestWireSaysOfEveryPortThatDoesNotOpen(t *testing.T) {
	b := wired("/nowhere/ttyUSB7", "tcp://127.0.0.1:1")
	_, err := b.Wire(daq.NewWallClock(), bench.WireOptions{})
	require.ErrorIs(t, err, link.ErrNoSuchPort)
	assert.ErrorContains(t, err, "open port rs485 (/nowhere/ttyUSB7): no such port")
	assert.ErrorContains(t, err, "open port text (tcp://127.0.0.1:1): no such port: nothing answers at 127.0.0.1:1")
}

func TestPartialWiringGoesOnWithTheRest(t *testing.T) {
	b := wired("/nowhere/ttyUSB7", listen(t, streaming(20*time.Millisecond, "1;%.2f;0\n")))
	clock := daq.NewWallClock()
	w, err := b.Wire(clock, bench.WireOptions{Partial: true})
	require.NoError(t, err)
	defer func() { require.NoError(t, w.Close()) }()
	assert.ErrorIs(t, w.Faults["rs485"], link.ErrNoSuchPort)
	probes, err := w.Probe(t.Context(), clock, 200*time.Millisecond)
	require.NoError(t, err)
	assert.ErrorIs(t, probes[0].Err, link.ErrNoSuchPort)
	assert.Empty(t, probes[0].Scans)
	assert.NoError(t, probes[1].Err)
	assert.NotEmpty(t, probes[1].Scans)
}

func TestProbeSaysWhatIsWrong(t *testing.T) {
	silent := func(c net.Conn) {}
	for name, c := range map[string]struct {
		module, thermometer func(net.Conn)
		want                [2]error
	}{
		"silent":          {silent, silent, [2]error{modbus.ErrNoAnswer, textline.ErrSilent}},
		"wrong framing":   {streaming(5*time.Millisecond, "\x8b\xfe\x01%.2f"), streaming(5*time.Millisecond, "\x8b\xfe%.2f\n"), [2]error{modbus.ErrGarbled, textline.ErrGarbled}},
		"other registers": {func(c net.Conn) { daqtest.Slave{Address: 5}.Serve(c) }, streaming(5*time.Millisecond, "%.2f\n"), [2]error{modbus.Exception(2), textline.ErrGarbled}},
		"another address": {answerAs(6), silent, [2]error{modbus.ErrForeign, textline.ErrSilent}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := wired(listen(t, c.module), listen(t, c.thermometer))
			b.Links[0].Timeout, b.Links[1].Timeout = 300*time.Millisecond, 300*time.Millisecond
			clock := daq.NewWallClock()
			w, err := b.Wire(clock, bench.WireOptions{})
			require.NoError(t, err)
			defer func() { require.NoError(t, w.Close()) }()
			probes, err := w.Probe(t.Context(), clock, 1200*time.Millisecond)
			require.NoError(t, err)
			for i, want := range c.want {
				require.ErrorIs(t, probes[i].Err, want)
				assert.NotEmpty(t, bench.Remedy(probes[i].Err))
				assert.Positive(t, probes[i].Failed)
			}
		})
	}
}

// answerAs answers every request as if it came from another address.
func answerAs(address byte) func(net.Conn) {
	return func(c net.Conn) {
		b := make([]byte, 64)
		for {
			n, err := c.Read(b)
			if err != nil {
				return
			}
			r, err := modbus.ParseRequest(b[:n])
			if err != nil {
				return
			}
			r.Address = address
			if _, err := c.Write(r.Reply(make([]uint16, r.Count))); err != nil {
				return
			}
		}
	}
}

func TestEveryFaultHasARemedy(t *testing.T) {
	for _, err := range []error{link.ErrBusy, link.ErrGone, link.ErrNoSuchPort, link.ErrPermission, link.ErrTimeout,
		modbus.ErrNoAnswer, modbus.ErrGarbled, modbus.ErrForeign, modbus.Exception(4), textline.ErrSilent, textline.ErrGarbled} {
		assert.NotEmpty(t, bench.Remedy(fmt.Errorf("x: %w", err)), err)
	}
	assert.Empty(t, bench.Remedy(context.Canceled))
}
