package main

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
	"holdbench/daq/sequence"
	"holdbench/daq/simbench"
)

// benchWithOutputs is the demonstration's bench with relays and switches on its
// module: a pump, a lock and a vent of the feed side, the warning switch, the
// pump's contactor, and the pump's relay read back.
func benchWithOutputs(t *testing.T, drives bool) string {
	text := craneFile(t, "bench.toml",
		`pump_state = "pump_runs"`+"\n\n[[position.circuit]]", "[[position.circuit]]",
		`trapped = "trapped_a"`+"\n"+`warning_switch = "warning_a"`, `trapped = "trapped_a"`,
		`interval = "0.1 s"`+"\n"+`watchdog = "1 s"`, `interval = "0.1 s"`)
	if drives {
		text = "outputs = true\n" + text
	}
	return text + `
[[output]]
name = "pump"
role = "pump"
instrument = "module"
function = 5
register = 0

[[output]]
name = "lock"
role = "lock"
instrument = "module"
function = 5
register = 1

[[output]]
name = "feed_vent"
role = "vent"
instrument = "module"
function = 6
register = 20

[[channel]]
name = "warning_a"
quantity = "state"
instrument = "module"
function = 2
register = 0

[[channel]]
name = "pump_runs"
quantity = "state"
instrument = "module"
function = 2
register = 1

[[channel]]
name = "pump_relay"
quantity = "state"
instrument = "module"
function = 1
register = 0
`
}

// driven is the demonstration's procedure, which here works the bench by itself
// but for what a person must see to.
func drivenProcedure(t *testing.T) string {
	return craneFile(t, "hold.toml",
		"[phase.fill]\nduration = \"2 s\"", "[phase.fill]\nend = \"operator\"\ntimeout = \"5 min\"",
		"[phase.pressurise]\nduration = \"12 s\"\ndrive = [\"pump on\"]", "[phase.pressurise]\nend = \"operator\"\ntimeout = \"5 min\"",
		"[phase.lock]\nduration = \"3 s\"\ndrive = [\"lock on\"]", "[phase.lock]\nend = \"operator\"\ntimeout = \"2 min\"",
		"[phase.vent_feed]\nduration = \"5 s\"\ndrive = [\"vent on\"]", "[phase.vent_feed]\nend = \"operator\"\ntimeout = \"2 min\"",
		"[phase.release]\nend = \"operator\"\ndrive = [\"lock off\"]", "[phase.release]\nend = \"operator\"")
}

// craneFile is a file of the demonstration with new texts in place of old ones.
func craneFile(t *testing.T, name string, newold ...string) string {
	text, err := fs.ReadFile(simbench.CraneFiles(), name)
	require.NoError(t, err)
	out := string(text)
	for i := 0; i < len(newold); i += 2 {
		require.Contains(t, out, newold[i+1])
		out = strings.Replace(out, newold[i+1], newold[i], 1)
	}
	return out
}

// scripted is a test in lock-step on the simulated instruments' own ports, as
// the demonstration makes it: with a scripted operator.
type scripted struct {
	rig  *simbench.Rig
	j    judged
	rec  *record.Recording
	sent []link.Traced // what went out to instruments
	// watcher is shown everything; nil: nobody.
	watcher sequence.Panel
	// panicked is the panic by which the run ended, after which the bench was
	// stopped as deferred calls do.
	panicked any
}

func (s *scripted) run(t *testing.T, bench1, procedure1 string, hands func(*simbench.Rig) map[procedure.Phase]func()) {
	b, err := bench.Parse("bench.toml", []byte(bench1))
	require.NoError(t, err)
	text, err := fs.ReadFile(simbench.CraneFiles(), b.CharacterisationPath)
	require.NoError(t, err)
	require.NoError(t, b.AttachCharacterisation(b.CharacterisationPath, text))
	p, err := procedure.Parse("hold.toml", []byte(procedure1))
	require.NoError(t, err)
	clock := simbench.NewLockStep(simbench.CraneStart)
	s.rig, err = simbench.New(b, clock, 1)
	require.NoError(t, err)
	served, err := s.rig.Serve(t.Context(), simbench.ServeOptions{})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	leave := clock.Join()
	var mu sync.Mutex
	scan, err := startScanning(ctx, b, clock, bench.WireOptions{Ports: served.Ports, Taken: clock.Taken, Trace: func(x link.Traced) {
		mu.Lock()
		defer mu.Unlock()
		if x.Sent {
			x.Bytes = append([]byte(nil), x.Bytes...)
			s.sent = append(s.sent, x)
		}
	}})
	require.NoError(t, err)
	hand := &sequence.Script{Delay: simbench.CraneDelays}
	if hands != nil {
		hand.OnPhase = hands(s.rig)
	}
	hand.Watcher = newPanel(io.Discard, si.DefaultDisplay, false)
	if s.watcher != nil {
		hand.Watcher = s.watcher
	}
	u := &unitTest{
		bench: b, procedure: p, position: b.Positions[0], channels: scan.wiring.Channels, scanner: scan.scanner,
		clock: clock, joined: true, serial: "HV1-00042", runID: "0197b3e0-0000-7000-8000-000000000001", folder: t.TempDir(),
		shown: style{Display: si.DefaultDisplay}, panel: hand, started: func(l *sequence.Loop) { hand.Answer = l.Answer },
	}
	folder, err := s.do(ctx, u, scan, leave)
	require.NoError(t, served.Close())
	require.NoError(t, err)
	if s.panicked == nil {
		s.rec, err = record.Open(folder)
		require.NoError(t, err)
	}
}

// do is the part of a run that may panic.
func (s *scripted) do(ctx context.Context, u *unitTest, scan *scanning, leave func()) (folder string, err error) {
	defer func() { s.panicked = recover() }()
	defer func() { err = errors.Join(err, scan.stop()) }()
	defer leave()
	folder, s.j, err = u.do(ctx)
	return folder, err
}

// writes are the requests among what was sent that write.
func (s *scripted) writes(t *testing.T) (out []modbus.Request) {
	for _, x := range s.sent {
		if x.Link != "rs485" {
			continue
		}
		r, err := modbus.ParseRequest(x.Bytes)
		require.NoError(t, err, "% x", x.Bytes)
		if r.Writes() {
			out = append(out, r)
		}
	}
	return out
}

func (s *scripted) of(kind daq.EventKind) (out []string) {
	for _, e := range s.rec.Events {
		if e.Kind == kind {
			out = append(out, e.Subject+" "+e.Text)
		}
	}
	return out
}

// A bench file with outputs and a procedure that drives them run the whole test
// by themselves, over a serial line, from the pump to the vent.
func TestBenchWithOutputsTestsUnattended(t *testing.T) {
	var s scripted
	s.run(t, benchWithOutputs(t, true), drivenProcedure(t), nil)
	r := s.j.result
	assert.Equal(t, "PASS", r.Verdict, r.Reasons)
	assert.True(t, r.Completed)
	assert.Equal(t, sequence.Vented, r.Vented.State)
	assert.Equal(t, []string{
		"pump off: scanning begins", "pump on: pressurise begins", "pump off: the test pressure is reached", "lock on: lock begins",
		"feed_vent on: vent feed begins", "lock off: the operator's word"}, s.of(daq.Driven))
	assert.Equal(t, []bool{false, false, true}, s.rig.Switched(), "pump, lock, vent when all is over")
	edges := s.of(daq.Edge)
	for _, e := range []string{"pump_relay on", "pump_runs on", "warning_a off", "pump_relay off", "pump_runs off", "warning_a on"} {
		assert.Contains(t, strings.Join(edges, "\n"), e)
	}
	for _, e := range s.rec.Events {
		if e.Kind == daq.Edge {
			assert.InDelta(t, 0.1, (e.Until - e.At).Seconds(), 0.02, "%v: between two scans", e)
			assert.Equal(t, map[bool]string{true: "a"}[e.Subject == "warning_a"], e.Circuit)
		}
	}
	_, recorded := s.rec.Series().Column("warning_a")
	assert.True(t, recorded)
	roles := map[string]string{}
	for _, i := range r.Instruments {
		roles[i.Channel] = i.Role
	}
	assert.Equal(t, "warning switch", roles["warning_a"])
	assert.Equal(t, "pump state", roles["pump_runs"])
}

// Without outputs = true not one frame that writes goes out, whatever the bench
// file lists and whatever happens.
func TestNothingIsWrittenWithoutLeave(t *testing.T) {
	var s scripted
	unit := simbench.CraneLot()[0]
	s.run(t, benchWithOutputs(t, false), craneFile(t, "hold.toml"), unit.Hands)
	require.NotEmpty(t, s.sent)
	assert.Empty(t, s.writes(t))
	assert.Equal(t, "PASS", s.j.result.Verdict)

	b, err := bench.Parse("bench.toml", []byte(benchWithOutputs(t, false)))
	require.NoError(t, err)
	p, err := procedure.Parse("hold.toml", []byte(drivenProcedure(t)))
	require.NoError(t, err)
	assert.EqualError(t, b.Drives("1", p.Drives()), `bench.toml: outputs: found nothing or false, want outputs = true, as the procedure drives pump; or a procedure that leaves it to the operator`)
}

// The demonstration never writes, since none of its benches may.
func TestDemonstrationDrivesNothing(t *testing.T) {
	for _, unit := range simbench.CraneLot() {
		b, p, err := unit.Load()
		require.NoError(t, err)
		assert.False(t, b.DrivesOutputs, unit.Serial)
		assert.Empty(t, p.Drives(), unit.Serial)
	}
	var s scripted
	unit := simbench.CraneLot()[0]
	s.run(t, craneFile(t, unit.Bench), craneFile(t, unit.Procedure), unit.Hands)
	require.NotEmpty(t, s.sent)
	assert.Empty(t, s.writes(t))
}

// brittle is a panel that panics a while after a phase began.
type brittle struct {
	sequence.Panel
	phase procedure.Phase
	shown int
}

func (b *brittle) Status(s sequence.Status) {
	if s.Phase == b.phase {
		if b.shown++; b.shown == 40 {
			panic("a fault of the program")
		}
	}
}

// A fault of the program in the midst of a run, wherever it strikes, leaves the
// pump off and opens nothing.
func TestPanicInARunLeavesTheBenchSafe(t *testing.T) {
	s := scripted{watcher: &brittle{Panel: newPanel(io.Discard, si.DefaultDisplay, false), phase: procedure.Pressurise}}
	s.run(t, benchWithOutputs(t, true), drivenProcedure(t), nil)
	var p *daq.PanicError
	require.ErrorAs(t, s.panicked.(error), &p)
	assert.Equal(t, "a fault of the program", p.Value)
	assert.Equal(t, []bool{false, false, false}, s.rig.Switched())
	assert.Greater(t, s.rig.States()[0].Trapped, 1e5, "it had pumped")
	var coils []uint16
	for _, r := range s.writes(t) {
		coils = append(coils, r.Values[0])
	}
	assert.Equal(t, []uint16{0, 1, 0}, coils, "safe at the beginning, on, and off by the fault")
}
