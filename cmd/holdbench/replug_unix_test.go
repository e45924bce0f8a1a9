//go:build linux || darwin

package main

import (
	"fmt"
	"math"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/record"
	"holdbench/daq/sequence"
	"holdbench/daq/simbench"
)

// adapter is a USB adapter before a simulated instrument: it can be pulled out
// and put in again, and is then known by another name.
type adapter struct {
	t          *testing.T
	instrument string // tcp address
	identity   link.PortInfo

	mu    sync.Mutex
	times int    // plugged in
	path  string // empty: pulled out
	pull  func()
}

// plug puts it in, under a new name.
func (a *adapter) plug() {
	module, err := net.Dial("tcp", strings.TrimPrefix(a.instrument, "tcp://"))
	require.NoError(a.t, err)
	path, far := daqtest.PTY(a.t)
	// Somebody has to hold the terminal open until the program does.
	held, err := os.OpenFile(path, os.O_RDWR|syscall.O_NOCTTY, 0)
	require.NoError(a.t, err)
	daqtest.Pace(far, module, daqtest.Pacing{Baud: 115200})
	a.mu.Lock()
	defer a.mu.Unlock()
	// The system may give a terminal the name of one that is gone.
	name := filepath.Join(a.t.TempDir(), fmt.Sprintf("ttyUSB%d", a.times))
	require.NoError(a.t, os.Symlink(path, name))
	a.path = name
	a.times++
	a.pull = func() {
		require.NoError(a.t, os.Remove(name))
		require.NoError(a.t, held.Close())
		require.NoError(a.t, far.Close())
		require.NoError(a.t, module.Close())
	}
}

// unplug pulls it out.
func (a *adapter) unplug() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.path = ""
	a.pull()
}

// list is what the system lists: pseudo-terminals never are, so the adapter is
// put in their place.
func (a *adapter) list() ([]link.PortInfo, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	other := link.PortInfo{Name: "/dev/ttyS0"}
	if a.path == "" {
		return []link.PortInfo{other}, nil
	}
	p := a.identity
	p.Name = a.path
	return []link.PortInfo{other, p}, nil
}

// An adapter that is named by what it says of itself comes back under another
// name in the middle of a recording: the recording goes on, the gap is marked.
func TestReplugUnderAnotherName(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	text, err := os.ReadFile(writtenCrane(t, dir))
	require.NoError(t, err)
	b, err := bench.Parse("bench.toml", []byte(strings.Replace(string(text), `port = "/dev/ttyUSB0"`,
		`usb = { vendor = "0403", product = "6001", serial = "A1B2" }`, 1)))
	require.NoError(t, err)
	rig, err := simbench.New(b, daq.NewWallClock(), 1)
	require.NoError(t, err)
	served, err := rig.Serve(t.Context(), simbench.ServeOptions{TCP: true})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, served.Close()) })
	usb := &adapter{t: t, instrument: served.Ports["rs485"],
		identity: link.PortInfo{USB: true, VendorID: "0403", ProductID: "6001", SerialNumber: "A1B2"}}

	options := bench.WireOptions{List: usb.list, Ports: map[string]string{"thermometer": served.Ports["thermometer"]}}
	clock := daq.NewWallClock()
	_, err = startScanning(t.Context(), b, clock, options)
	require.ErrorIs(t, err, link.ErrNoSuchPort, "not plugged in yet")
	assert.ErrorContains(t, err, `open port rs485 (USB 0403:6001, serial number "A1B2"): no such port`)

	usb.plug()
	scan, err := startScanning(t.Context(), b, clock, options)
	require.NoError(t, err)
	first := scan.wiring.Port("rs485")
	folder := filepath.Join(dir, "recording")
	w, err := record.Create(folder, record.Meta{RunID: "replug", SerialNumber: "x", ClockKind: clock.Kind(), Channels: scan.wiring.Channels})
	require.NoError(t, err)
	scan.scanner.Subscribe(w.Scan)
	scan.scanner.OnEvent(func(e daq.Event) { assert.NoError(t, w.Event(e)) })

	time.Sleep(time.Second)
	pulled := clock.Now()
	usb.unplug()
	time.Sleep(1500 * time.Millisecond)
	plugged := clock.Now()
	usb.plug()
	time.Sleep(2500 * time.Millisecond)
	second := scan.wiring.Port("rs485")
	require.NoError(t, scan.stop())
	require.NoError(t, w.Close())
	usb.unplug()

	assert.NotEqual(t, first, second, "it came back under another name")
	rec, err := record.Open(folder)
	require.NoError(t, err)
	assert.Empty(t, rec.Findings)
	gaps := map[string][]daq.Event{}
	for _, e := range rec.Events {
		if e.Kind == daq.Gap {
			gaps[e.Subject] = append(gaps[e.Subject], e)
		}
	}
	require.Len(t, gaps["module"], 1, "one gap")
	gap := gaps["module"][0]
	assert.Contains(t, gap.Text, "the port is gone")
	assert.InDelta(t, pulled.Seconds(), gap.At.Seconds(), 0.5)
	assert.Greater(t, gap.Until, plugged)
	assert.Less(t, gap.Until, plugged+2*time.Second)
	assert.Empty(t, gaps["probe"], "the other line lost nothing")
	before, after := 0, 0
	column, ok := rec.Series().Column("trapped_a")
	require.True(t, ok)
	for i, v := range column.Value {
		switch at := column.Time[i]; {
		case math.IsNaN(v):
		case at <= gap.At.Seconds():
			before++
		case at >= gap.Until.Seconds():
			after++
		default:
			assert.Fail(t, "a reading in the gap", "%v s: %v", at, v)
		}
	}
	assert.Greater(t, before, 4)
	assert.Greater(t, after, 4)
}

// A procedure may end the test of which an instrument was lost.
func TestLostInstrumentAbortsARun(t *testing.T) {
	t.Parallel()
	s := newBystander(t)
	s.rewrite("hold.toml", `duration = "60 s"`, `duration = "1 s"`, `duration = "5 min"`, `duration = "30 min"`,
		`test_pressure = "100 bar"`, "on_lost_instrument = \"abort\"\nlost_after = \"3 s\"\ntest_pressure = \"100 bar\"")
	s.start(false, "hold.toml", direct)
	s.pressuriseAndLock()
	_, err := s.rig.Command("unplug thermometer")
	require.NoError(t, err)
	s.await("After 3 s without one the test is aborted.")
	s.await("Test aborted: readings lost: no valid reading of ")
	s.ventAndConfirm()
	assert.Equal(t, exitNotCompleted, s.exit())
	r := readResult(t, filepath.Join(s.recording(), "result.json"))
	assert.False(t, r.Completed)
	assert.Equal(t, sequence.Vented, r.Vented.State, "the vent watch goes on")
	rec, err := record.Open(s.recording())
	require.NoError(t, err)
	var interlocks []string
	for _, e := range rec.Events {
		if e.Kind == daq.Interlock {
			interlocks = append(interlocks, e.Subject)
		}
	}
	assert.Equal(t, []string{"readings lost"}, interlocks)
}

// writtenCrane writes the demonstration's files and returns the bench file.
func writtenCrane(t *testing.T, dir string) string {
	t.Helper()
	require.NoError(t, os.CopyFS(dir, simbench.CraneFiles()))
	return filepath.Join(dir, "bench.toml")
}
