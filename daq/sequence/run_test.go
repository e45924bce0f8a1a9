package sequence

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/simbench"
)

// rigged is a made-up bench: one instrument with the three channels of
// circuit a, whose pressures the scripted operator's hands set.
type rigged struct {
	mu            sync.Mutex
	trapped, feed float64
	dead          bool
}

func (b *rigged) set(trapped, feed float64) func() {
	return func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.trapped, b.feed = trapped*bar, feed*bar
	}
}

func (b *rigged) unplug(dead bool) func() {
	return func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.dead = dead
	}
}

// Sample answers at once.
func (b *rigged) Sample(_ context.Context, dst []daq.Signal) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.dead {
		return errors.New("no answer")
	}
	dst[0], dst[1], dst[2] = daq.Signal{Raw: b.trapped}, daq.Signal{Raw: b.feed}, daq.Signal{Raw: 293}
	return nil
}

func (b *rigged) lines() []daq.Line {
	return []daq.Line{{Name: "bus", Sources: []daq.Source{{
		Name: "module", Instrument: b, Channels: []int{0, 1, 2}, Interval: 100 * time.Millisecond,
		Convert: func(_ time.Duration, dst []daq.Reading, src []daq.Signal) {
			for i, s := range src {
				dst[i].Raw, dst[i].Value = s.Raw, s.Raw
				if dst[i].Health = s.Health; s.Health != daq.Healthy {
					dst[i].Value = math.NaN()
				}
			}
		},
	}}}}
}

var (
	onePosition = bench.Position{Name: "1", Circuits: []bench.Circuit{
		{Name: "a", Trapped: "trapped_a", Feed: "feed_a", Temperature: "temperature_a"}}}
	threeChannels = []daq.Channel{
		{Name: "trapped_a", Quantity: si.Pressure, Interval: 100 * time.Millisecond},
		{Name: "feed_a", Quantity: si.Pressure, Interval: 100 * time.Millisecond},
		{Name: "temperature_a", Quantity: si.Temperature, Interval: 100 * time.Millisecond}}
)

// kept is a log in memory: every line in the order it was written.
type kept struct {
	mu     sync.Mutex
	lines  []string
	scans  []daq.Scan
	events []daq.Event
	fail   func(daq.Scan) error
}

func (k *kept) Scan(s daq.Scan) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.fail != nil {
		if err := k.fail(s); err != nil {
			return err
		}
	}
	k.scans = append(k.scans, s)
	k.lines = append(k.lines, fmt.Sprintf("%v scan %v", s.At, s.Readings))
	return nil
}

func (k *kept) Event(e daq.Event) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.events = append(k.events, e)
	k.lines = append(k.lines, fmt.Sprintf("%+v", e))
	return nil
}

func (k *kept) of(kind daq.EventKind) []daq.Event {
	k.mu.Lock()
	defer k.mu.Unlock()
	var out []daq.Event
	for _, e := range k.events {
		if e.Kind == kind {
			out = append(out, e)
		}
	}
	return out
}

// watcher keeps what the operator was told.
type watcher struct {
	messages []string
	statuses int
	check    func(Status)
}

func (w *watcher) Prompt(Prompt)    {}
func (w *watcher) Message(s string) { w.messages = append(w.messages, s) }
func (w *watcher) Status(s Status) {
	w.statuses++
	if w.check != nil {
		w.check(s)
	}
}

// story is a run by a scripted operator.
type story struct {
	bench   rigged
	log     kept
	watcher watcher
	script  *Script
	config  Config
	loop    *Loop
}

func newStory(clock daq.Clock) *story {
	s := &story{}
	s.script = &Script{Watcher: &s.watcher, OnPhase: map[procedure.Phase]func(){
		procedure.Pressurise: s.bench.set(100, 100),
		procedure.VentFeed:   s.bench.set(100, 0),
		procedure.Release:    s.bench.set(0, 0),
	}}
	s.config = Config{Procedure: holdTest("a"), Position: onePosition, Channels: threeChannels,
		Clock: clock, Log: &s.log, Panel: s.script}
	return s
}

// run scans and runs; on the wall clock of a synctest bubble. A run that does
// not end is left after an hour of it.
func (s *story) run(ctx context.Context) (Outcome, error) {
	ctx, cancel := context.WithTimeout(ctx, time.Hour)
	defer cancel()
	scanner := daq.NewScanner(s.config.Clock, s.bench.lines())
	scanning, stop := context.WithCancel(context.Background())
	var wg sync.WaitGroup
	wg.Go(func() { _ = scanner.Run(scanning) }) // ends without error, or the run does not end
	defer wg.Wait()
	defer stop()
	s.config.Scanner = scanner
	s.loop = New(s.config)
	s.script.Answer = s.loop.Answer
	return s.loop.Run(ctx)
}

// bubble runs a test under a fake clock.
func bubble(t *testing.T, f func(t *testing.T, s *story)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) { f(t, newStory(daq.NewWallClock())) })
}

func TestLoopRunsAProcedureToVented(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		judged := 0
		s.config.OnHoldEnd = func() string {
			judged++
			assert.True(t, Windows(s.log.events)["a"].Completed, "the hold's end is in the log before it is judged")
			return "PASS, for example"
		}
		flushed := 0
		s.config.Flush = func() error { flushed++; return nil }
		out, err := s.run(t.Context())
		require.NoError(t, err)
		require.Equal(t, Outcome{Completed: true, Vented: Vented, Reason: shownVented}, out)
		require.Equal(t, out, OutcomeOf(s.log.events))
		require.Equal(t, 1, judged)
		require.Equal(t, 1, flushed)
		require.Contains(t, s.watcher.messages, "PASS, for example")
		w := Windows(s.log.events)["a"]
		require.InDelta(t, 60, w.HoldEnd-w.HoldStart, 0.11)
	})
}

func TestLoopLooksWhenTheReadingsAreLogged(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		s.config.Procedure = lookedTest()
		var seen []Look
		s.config.OnLook = func(l Look) LookAnswer {
			seen = append(seen, l)
			s.log.mu.Lock()
			defer s.log.mu.Unlock()
			assert.GreaterOrEqual(t, s.log.scans[len(s.log.scans)-1].At, l.At+100*time.Millisecond, "every reading up to the look is logged")
			return LookAnswer{End: l.Number == 2, Text: "so far"}
		}
		judged := 0
		s.config.OnHoldEnd = func() string { judged++; return "judged" }
		out, err := s.run(t.Context())
		require.NoError(t, err)
		require.True(t, out.Completed)
		require.Equal(t, 1, judged)
		require.Len(t, seen, 2)
		require.Equal(t, Look{Number: 2, Planned: 3, At: seen[1].At}, seen[1])
		w := Windows(s.log.events)["a"]
		require.InDelta(t, 40, w.HoldEnd-w.HoldStart, 0.5)
		require.Equal(t, seen, Looks(s.log.events))
		require.Contains(t, s.watcher.messages, "Look 2 of 3: so far")
	})
	bubble(t, func(t *testing.T, s *story) {
		s.config.Procedure = lookedTest()
		out, err := s.run(t.Context())
		require.NoError(t, err)
		require.True(t, out.Completed)
		w := Windows(s.log.events)["a"]
		require.InDelta(t, 60, w.HoldEnd-w.HoldStart, 0.5, "nobody looks")
	})
}

func TestScanIsWrittenBeforeTheMachineSeesIt(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		s.watcher.check = func(st Status) {
			s.log.mu.Lock()
			defer s.log.mu.Unlock()
			if !math.IsNaN(st.Circuits[0].Trapped) {
				last := s.log.scans[len(s.log.scans)-1]
				assert.Equal(t, last.Readings[0].Value, st.Circuits[0].Trapped)
				assert.LessOrEqual(t, last.At, st.At)
			}
		}
		_, err := s.run(t.Context())
		require.NoError(t, err)
		require.Greater(t, s.watcher.statuses, 800, "ten scans a second")
		for i := 1; i < len(s.log.scans); i++ {
			require.Equal(t, 100*time.Millisecond, s.log.scans[i].At-s.log.scans[i-1].At, "no scan is lost, from start to vented")
		}
	})
}

func TestLockStepRunIsTheSameEachTime(t *testing.T) {
	run := func() []string {
		clock := simbench.NewLockStep(time.Unix(0, 0))
		s := newStory(clock)
		s.config.Procedure = lookedTest()
		s.config.OnLook = func(l Look) LookAnswer { return LookAnswer{Text: l.String()} }
		s.config.Joined = true
		scanner := daq.NewScanner(clock, s.bench.lines())
		// The first scan's delivery takes the join for this goroutine, so the
		// clock never runs without it.
		first := make(chan struct{})
		leave := func() {}
		var once sync.Once
		cancel := scanner.Subscribe(func(daq.Scan) error {
			once.Do(func() { leave = clock.Join(); close(first) })
			return nil
		})
		scanning, stop := context.WithCancel(context.Background())
		var wg sync.WaitGroup
		wg.Go(func() { _ = scanner.Run(scanning) })
		<-first
		cancel()
		s.config.Scanner = scanner
		s.loop = New(s.config)
		s.script.Answer = s.loop.Answer
		out, err := s.loop.Run(t.Context())
		require.NoError(t, err)
		require.Equal(t, Vented, out.Vented)
		stop()
		leave()
		wg.Wait()
		return s.log.lines
	}
	want := run()
	require.Greater(t, len(want), 800)
	for range 3 {
		require.Equal(t, want, run())
	}
}

func TestAbortFromOutsideKeepsRecordingAndVentWatch(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		s.script.OnPhase[procedure.Hold] = func() { time.AfterFunc(10*time.Second, func() { s.loop.Abort("Ctrl-C") }) }
		s.config.OnHoldEnd = func() string { assert.Fail(t, "an aborted hold is not judged as ended"); return "" }
		out, err := s.run(t.Context())
		require.NoError(t, err)
		require.Equal(t, Outcome{Aborted: true, Cause: "operator: Ctrl-C", Vented: Vented, Reason: shownVented}, out)
		w := Windows(s.log.events)["a"]
		require.InDelta(t, 10, w.HoldEnd-w.HoldStart, 0.2)
		require.False(t, w.Completed)
		last := s.log.scans[len(s.log.scans)-1].At.Seconds()
		require.Greater(t, last-w.HoldEnd, 5.0, "recorded on until vented")
	})
}

func TestAbortBeforeTheRunIsNotLost(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		s.config.Panel, s.config.Scanner = &s.watcher, noScans{}
		early := New(s.config)
		early.Abort("Ctrl-C")
		ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
		defer cancel()
		out, err := early.Run(ctx)
		require.NoError(t, err)
		require.True(t, out.Aborted)
		require.Equal(t, TreatAsPressurised, out.Vented)
	})
}

// noScans is a bench that says nothing.
type noScans struct{}

func (noScans) Subscribe(func(daq.Scan) error) func() { return func() {} }
func (noScans) OnEvent(func(daq.Event)) func()        { return func() {} }

func TestLeavingIsTreatedAsPressurised(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		ctx, leave := context.WithCancel(t.Context())
		s.script.OnPhase[procedure.Hold] = func() { time.AfterFunc(10*time.Second, leave) }
		flushed := false
		s.config.Flush = func() error {
			flushed = true
			require.NotEmpty(t, s.log.of(daq.Note), "the note is on its way before the flush")
			return nil
		}
		out, err := s.run(ctx)
		require.NoError(t, err)
		require.Equal(t, Outcome{Vented: TreatAsPressurised, Reason: "left during hold, before vented was shown"}, out)
		require.Equal(t, out, OutcomeOf(s.log.events))
		require.True(t, flushed)
		require.True(t, math.IsNaN(Windows(s.log.events)["a"].HoldEnd))
	})
}

func TestFailingLogAbortsTheTestButNotTheVentWatch(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		full := errors.New("disk full")
		s.log.fail = func(scan daq.Scan) error {
			if scan.At > 20*time.Second {
				return full
			}
			return nil
		}
		out, err := s.run(t.Context())
		require.ErrorIs(t, err, full)
		require.True(t, out.Aborted)
		require.Equal(t, "recording: cannot be written: disk full", out.Cause)
		require.Equal(t, Vented, out.Vented, "watched to the end on what is not recorded")
	})
}

// A panic of the log ends the run by a panic on the caller's goroutine, and
// leaves nobody waiting.
func TestPanicOfTheLogEndsTheRun(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		s.log.fail = func(scan daq.Scan) error {
			if scan.At > 3*time.Second {
				panic("a fault of the program")
			}
			return nil
		}
		p := daq.Guard(func() { _, _ = s.run(t.Context()) })
		require.NotNil(t, p)
		assert.Equal(t, "a fault of the program", p.Value)
	})
}

func TestRunGoesOnByTimeWhenTheInstrumentIsLost(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		s.script.OnPhase[procedure.Hold] = func() { time.AfterFunc(10*time.Second, s.bench.unplug(true)) }
		plugged := s.script.OnPhase[procedure.Release]
		s.script.OnPhase[procedure.Release] = func() { plugged(); s.bench.unplug(false)() }
		// What comes back at nothing proves nothing: only a reason ends it.
		s.script.Cues = []Cue{{Phase: procedure.Vented, After: 20 * time.Second, Answer: Answer{Kind: OverrideVented, Text: "gauge on the unit shows none"}}}
		out, err := s.run(t.Context())
		require.NoError(t, err)
		require.True(t, out.Completed)
		require.Equal(t, Overridden, out.Vented)
		require.Contains(t, out.Reason, "gauge on the unit shows none")
		w := Windows(s.log.events)["a"]
		require.InDelta(t, 60, w.HoldEnd-w.HoldStart, 0.51, "by ticks")
		require.NotEmpty(t, s.log.of(daq.Gap), "the scanner's gap is in the log")
		require.Contains(t, s.log.of(daq.Asked)[4].Text, "No valid reading of trapped pressure a (channel trapped_a)")
	})
}

func TestScriptInsistsOrAborts(t *testing.T) {
	for _, insist := range []bool{true, false} {
		bubble(t, func(t *testing.T, s *story) {
			s.script.OnPhase[procedure.VentFeed] = s.bench.set(100, 40)
			s.script.Insist = insist
			out, err := s.run(t.Context())
			require.NoError(t, err)
			require.Equal(t, insist, out.Completed)
			require.Equal(t, !insist, out.Aborted)
			require.Equal(t, Vented, out.Vented)
		})
	}
}

func TestScriptKeepsDelaysAndCues(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		s.script.Delay = map[procedure.Phase]time.Duration{procedure.Pressurise: 12 * time.Second, procedure.Vented: 30 * time.Second}
		s.script.Unconfirmed = true
		s.script.Cues = []Cue{
			{Phase: procedure.Hold, After: 5 * time.Second, Answer: Answer{Kind: TakeNote, Text: "door opened"}},
			{Phase: procedure.Vented, After: 90 * time.Second, Answer: Answer{Kind: OverrideVented, Text: "shift ends"}},
		}
		out, err := s.run(t.Context())
		require.NoError(t, err)
		require.Equal(t, Outcome{Completed: true, Vented: Overridden, Reason: "shift ends"}, out)
		phases := s.log.of(daq.PhaseBegins)
		require.InDelta(t, 12, (phases[2].At - phases[1].At).Seconds(), 0.11)
		require.InDelta(t, 5, s.log.of(daq.Note)[0].At.Seconds()-phases[5].At.Seconds(), 0.11)
	})
}

func TestNothingIsWrittenOnceTheRunIsOver(t *testing.T) {
	bubble(t, func(t *testing.T, s *story) {
		_, err := s.run(t.Context())
		require.NoError(t, err)
		lines := len(s.log.lines)
		require.Equal(t, daq.Vented, s.log.events[len(s.log.events)-1].Kind)
		s.loop.Answer(Answer{Kind: TakeNote, Text: "too late"})
		s.loop.Abort("too late")
		require.NoError(t, s.loop.scan(daq.Scan{At: time.Hour}))
		require.Len(t, s.log.lines, lines)
	})
}

func TestRunRefusesWhatDoesNotFitTogether(t *testing.T) {
	s := newStory(daq.NewWallClock())
	s.config.Procedure = holdTest("a", "b")
	_, err := Run(t.Context(), s.config)
	require.EqualError(t, err, `position "1" has no circuit "b", which the procedure tests`)
	s.config.Procedure, s.config.Channels = holdTest("a"), threeChannels[:2]
	_, err = Run(t.Context(), s.config)
	require.EqualError(t, err, `position "1", circuit "a": no channel "temperature_a" on this bench`)
}
