package daq_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/daq"
)

var errGone = errors.New("the line is gone")

// relays is an instrument with outputs, on a cable that can be pulled.
type relays struct {
	mu       sync.Mutex
	busy     bool // in an exchange
	collided bool
	gone     bool // the cable is out
	mute     bool // the instrument has no power
	panics   bool
	on       map[int]bool
	said     []string // every command that arrived, in order
	samples  int
}

func (r *relays) exchange(do func() error) error {
	r.mu.Lock()
	r.collided = r.collided || r.busy
	r.busy = true
	gone, mute, panics := r.gone, r.mute, r.panics
	r.mu.Unlock()
	defer func() {
		r.mu.Lock()
		r.busy = false
		r.mu.Unlock()
	}()
	switch {
	case panics:
		r.mu.Lock()
		r.panics = false
		r.mu.Unlock()
		panic("a fault of the program")
	case gone:
		return errGone
	case mute:
		time.Sleep(200 * time.Millisecond)
		return errors.New("no answer")
	}
	time.Sleep(5 * time.Millisecond)
	r.mu.Lock()
	defer r.mu.Unlock()
	return do()
}

func (r *relays) Sample(ctx context.Context, dst []daq.Signal) error {
	return r.exchange(func() error {
		r.samples++
		dst[0] = daq.Signal{Raw: 1}
		return nil
	})
}

func (r *relays) Drive(ctx context.Context, output int, on bool) error {
	return r.exchange(func() error {
		if r.on == nil {
			r.on = map[int]bool{}
		}
		r.on[output] = on
		r.said = append(r.said, fmt.Sprint(output, " ", on))
		return nil
	})
}

func (r *relays) set(change func()) {
	r.mu.Lock()
	defer r.mu.Unlock()
	change()
}

// line is a polled line with the relays on it and, where driven, their outputs.
func (r *relays) line(driven bool) daq.Line {
	src := source("relays", 0, 100*time.Millisecond, r)
	if driven {
		src.Driver = r
		src.Outputs = []daq.Output{{Name: "pump", Role: daq.Pump}, {Name: "vent", Role: daq.Vent}}
	}
	return daq.Line{Name: "bus", Sources: []daq.Source{src},
		Gone: func(err error) bool { return errors.Is(err, errGone) },
		Reopen: func(context.Context) error {
			r.mu.Lock()
			defer r.mu.Unlock()
			if r.gone {
				return errGone
			}
			return nil
		}}
}

// drives is a scanner on the relays while do runs, and what it told.
type told struct {
	mu      sync.Mutex
	driving []daq.Driving
	events  []daq.Event
}

func (r *relays) scanned(t require.TestingT, ctx context.Context, driven bool, do func(s *daq.Scanner, told *told)) (*told, error) {
	s := daq.NewScanner(daq.NewWallClock(), []daq.Line{r.line(driven)})
	out := &told{}
	s.OnDriven(func(d daq.Driving) {
		out.mu.Lock()
		defer out.mu.Unlock()
		out.driving = append(out.driving, d)
	})
	s.OnEvent(func(e daq.Event) {
		out.mu.Lock()
		defer out.mu.Unlock()
		out.events = append(out.events, e)
	})
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	over := make(chan error, 1)
	go func() { over <- s.Run(ctx) }()
	do(s, out)
	stop()
	return out, <-over
}

func TestScannerDrivesBetweenExchangesAndTells(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &relays{}
		told, err := r.scanned(t, t.Context(), true, func(s *daq.Scanner, _ *told) {
			time.Sleep(time.Second)
			began := time.Now()
			require.NoError(t, s.Drive(t.Context(), "pump", true, "pressurise begins"))
			assert.Less(t, time.Since(began), 40*time.Millisecond)
			require.NoError(t, s.Drive(t.Context(), "pump", false, "pressurise ends"))
			require.ErrorIs(t, s.Drive(t.Context(), "siren", true, "?"), daq.ErrNoOutput)
			time.Sleep(time.Second)
		})
		require.NoError(t, err)
		assert.False(t, r.collided, "two exchanges at a time on one line")
		assert.Equal(t, []string{"0 false", "0 true", "0 false", "0 false"}, r.said, "safe first, as ordered, safe at the end")
		var texts []string
		for _, e := range told.events {
			require.Equal(t, daq.Driven, e.Kind)
			require.Equal(t, "pump", e.Subject)
			texts = append(texts, e.Text)
		}
		assert.Equal(t, []string{"off: scanning begins", "on: pressurise begins", "off: pressurise ends", "off: scanning ends"}, texts)
		assert.Len(t, told.driving, 4)
	})
}

func TestSafeStateIsWrittenFirstWhenALostLineIsBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &relays{}
		told, err := r.scanned(t, t.Context(), true, func(s *daq.Scanner, _ *told) {
			require.NoError(t, s.Drive(t.Context(), "pump", true, "pressurise begins"))
			r.set(func() { r.gone = true })
			time.Sleep(3 * time.Second)
			require.ErrorIs(t, s.Drive(t.Context(), "pump", true, "once more"), daq.ErrAway)
			r.set(func() { r.gone, r.said, r.samples = false, append(r.said, "back"), 0 })
			for {
				time.Sleep(time.Millisecond)
				r.mu.Lock()
				first, samples := len(r.said) == 4, r.samples
				r.mu.Unlock()
				if first {
					assert.Zero(t, samples, "nothing is asked before")
					break
				}
			}
			time.Sleep(time.Second)
		})
		require.NoError(t, err)
		assert.Equal(t, []string{"0 false", "0 true", "back", "0 false", "0 false"}, r.said)
		var lost []daq.Driving
		for _, d := range told.driving {
			if d.Safe && d.Err != nil {
				lost = append(lost, d)
			}
		}
		require.Len(t, lost, 1, "it is told at once that the pump may have stopped")
		assert.Equal(t, "its line was gone", lost[0].Cause)
	})
}

func TestPumpIsNotSwitchedOnWhileTheSafeStateIsNotConfirmed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &relays{mute: true}
		_, err := r.scanned(t, t.Context(), true, func(s *daq.Scanner, _ *told) {
			require.ErrorIs(t, s.Drive(t.Context(), "pump", true, "begin"), daq.ErrUnsafe)
			r.set(func() { r.mute = false })
			time.Sleep(10 * time.Second)
			require.NoError(t, s.Drive(t.Context(), "pump", true, "begin"))
		})
		require.NoError(t, err)
		assert.Equal(t, []string{"0 false", "0 true", "0 false"}, r.said)
	})
}

func TestPanicLeavesThePumpOff(t *testing.T) {
	for name, panics := range map[string]func(s *daq.Scanner, r *relays){
		"of a subscriber":  func(s *daq.Scanner, _ *relays) { s.Subscribe(func(daq.Scan) error { panic("a fault of the program") }) },
		"of an instrument": func(_ *daq.Scanner, r *relays) { r.set(func() { r.panics = true }) },
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := &relays{}
				_, err := r.scanned(t, t.Context(), true, func(s *daq.Scanner, _ *told) {
					require.NoError(t, s.Drive(t.Context(), "pump", true, "begin"))
					panics(s, r)
					time.Sleep(time.Second)
					require.ErrorIs(t, s.Drive(t.Context(), "pump", true, "again"), daq.ErrAway)
				})
				var p *daq.PanicError
				require.ErrorAs(t, err, &p)
				assert.Equal(t, "a fault of the program", p.Value)
				assert.False(t, r.on[0])
			})
		})
	}
}

func TestNothingIsDrivenWithoutADriver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &relays{}
		told, err := r.scanned(t, t.Context(), false, func(s *daq.Scanner, _ *told) {
			require.ErrorIs(t, s.Order("pump", true, "begin"), daq.ErrNoOutput)
			r.set(func() { r.gone = true })
			time.Sleep(time.Second)
			r.set(func() { r.gone = false })
			time.Sleep(10 * time.Second)
			assert.Empty(t, s.Outputs())
		})
		require.NoError(t, err)
		assert.Empty(t, r.said)
		assert.Empty(t, told.driving)
	})
}

// Whatever happens to the line, and whatever is ordered, the pump is off when
// scanning has ended, if its instrument could be reached then; nothing but the
// pump is ever switched unordered; and commands never cut into an exchange.
func TestPumpIsOffHoweverARunEnds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		driven := rapid.Bool().Draw(rt, "outputs = true")
		steps := rapid.SliceOfN(rapid.SampledFrom([]string{"pump on", "pump on", "pump off", "vent on", "pull", "plug",
			"mute", "speak", "wait", "panic", "subscriber panics"}), 1, 12).Draw(rt, "steps")
		pauses := rapid.SliceOfN(rapid.IntRange(0, 700), len(steps), len(steps)).Draw(rt, "ms")
		var r *relays
		vents, reachable := 0, true
		synctest.Test(t, func(*testing.T) {
			r = &relays{}
			_, _ = r.scanned(rt, context.Background(), driven, func(s *daq.Scanner, _ *told) {
				ended := false // by a panic, perhaps before all steps are done
				for i, step := range steps {
					switch step {
					case "pump on", "pump off":
						_ = s.Order("pump", step == "pump on", "a step")
					case "vent on":
						if s.Order("vent", true, "a step") == nil {
							vents++
						}
					case "pull":
						r.set(func() { r.gone = true })
					case "plug":
						r.set(func() { r.gone = false })
					case "mute", "speak":
						r.set(func() { r.mute = step == "mute" })
					case "panic":
						r.set(func() { r.panics = true })
						ended = true
					case "subscriber panics":
						s.Subscribe(func(daq.Scan) error { panic("a fault of the program") })
						ended = true
					}
					r.set(func() { reachable = reachable && !(ended && (r.gone || r.mute)) })
					time.Sleep(time.Duration(pauses[i]) * time.Millisecond)
				}
				r.set(func() { r.gone, r.mute, r.panics = false, false, false })
			})
		})
		opened := 0
		for _, c := range r.said {
			if c == "1 true" {
				opened++
			}
		}
		switch {
		case r.on[0] && reachable:
			rt.Fatalf("the pump runs on: %v", r.said)
		case !driven && len(r.said) > 0:
			rt.Fatalf("driven without being allowed to: %v", r.said)
		case opened > vents:
			rt.Fatalf("opened %d times, ordered %d times", opened, vents)
		case r.collided:
			rt.Fatalf("two exchanges at a time")
		}
	})
}

// Where scanning never begins, whoever waits for an output is told.
func TestDriveEndsWhereScanningIsRefused(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &relays{}
		line := r.line(true)
		line.Sources[0].Interval = 0
		s := daq.NewScanner(daq.NewWallClock(), []daq.Line{line})
		ctx, cancel := context.WithTimeout(t.Context(), time.Hour)
		defer cancel()
		before := make(chan error, 1)
		go func() { before <- s.Drive(ctx, "pump", false, "the operator's word") }()
		synctest.Wait()
		require.Error(t, s.Run(t.Context()))
		require.ErrorIs(t, <-before, daq.ErrAway)
		require.ErrorIs(t, s.Drive(ctx, "pump", false, "the operator's word"), daq.ErrAway)
		assert.Empty(t, r.said)
	})
}
