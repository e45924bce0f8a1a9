package simbench

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
)

// everyKind is a bench with two circuits and every way in which a channel can
// be read.
const everyKind = `
name = "Test bench"
[ambient]
channel = "air"
temperature_channel = "room"
[[link]]
name = "rs485"
port = "unused-1"
baud = 115200
timeout = "2 s"
[[link]]
name = "thermometer"
port = "unused-2"
baud = 9600
timeout = "2 s"
[[instrument]]
name = "one"
kind = "modbus-rtu"
link = "rs485"
address = 1
interval = "0.1 s"
[[instrument]]
name = "two"
kind = "modbus-rtu"
link = "rs485"
address = 7
interval = "0.2 s"
[[instrument]]
name = "probe"
kind = "text-stream"
link = "thermometer"
separator = "tab"
interval = "0.25 s"
[[channel]]
name = "trapped_a"
quantity = "pressure"
instrument = "one"
function = 4
register = 0
type = "int16"
raw_scale = 0.001
raw_unit = "mA"
scaling = [["4 mA", "0 bar"], ["20 mA", "250 bar"]]
reference = "gauge"
range = ["0 bar", "250 bar"]
[channel.calibration]
certificate = "t"
date = 2026-01-01
due = 2027-01-01
uncertainty = "0.05 bar"
points = [["0 bar", "0.2 bar"], ["125 bar", "125.4 bar"], ["250 bar", "249.5 bar"]]
[[channel]]
name = "feed"
quantity = "pressure"
instrument = "one"
function = 3
register = 10
type = "float32"
word_order = "low-first"
raw_unit = "bar"
reference = "gauge"
[[channel]]
name = "trapped_b"
quantity = "pressure"
instrument = "two"
function = 4
register = 100
type = "float32"
word_order = "high-first"
raw_unit = "psi"
reference = "absolute"
range = ["0 psi", "3000 psi"]
[[channel]]
name = "air"
quantity = "pressure"
instrument = "two"
function = 4
register = 102
type = "int16"
raw_unit = "mbar"
raw_scale = 0.1
reference = "absolute"
[[channel]]
name = "body"
quantity = "temperature"
instrument = "probe"
column = 3
raw_unit = "°C"
resolution = "0.001 K"
[[channel]]
name = "room"
quantity = "temperature"
instrument = "probe"
column = 1
raw_unit = "°C"
resolution = "0.1 K"
[[position]]
name = "1"
[[position.circuit]]
name = "a"
trapped = "trapped_a"
feed = "feed"
temperature = "body"
[[position.circuit]]
name = "b"
trapped = "trapped_b"
feed = "feed"
temperature = "body"
[simulated]
leak = "1 bar/min"
seed = 3
`

func everyKindBench(t testing.TB) *bench.Bench {
	t.Helper()
	b, err := bench.Parse("bench.toml", []byte(everyKind))
	require.NoError(t, err)
	return b
}

// visit is a program at a simulated bench in lock-step.
type visit struct {
	bench *bench.Bench
	clock *LockStep
	rig   *Rig
	scans []daq.Scan
	gaps  []daq.Event
	wall  time.Duration
}

// watch scans a bench for a time of the lock-step clock. at is called by the
// operator's goroutine, which keeps pace, once a second.
func watch(t testing.TB, b *bench.Bench, seed uint64, o ServeOptions, length time.Duration, at func(s *visit, second int)) *visit {
	t.Helper()
	s := &visit{bench: b, clock: NewLockStep(morning)}
	var err error
	s.rig, err = New(b, s.clock, seed)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	served, err := s.rig.Serve(ctx, o)
	require.NoError(t, err)
	wired, err := b.Wire(s.clock, bench.WireOptions{Taken: s.clock.Taken, Ports: served.Ports})
	require.NoError(t, err)
	scanner := daq.NewScanner(s.clock, wired.Lines)
	scanner.Subscribe(func(sc daq.Scan) error { s.scans = append(s.scans, sc); return nil })
	scanner.OnEvent(func(e daq.Event) { s.gaps = append(s.gaps, e) })
	began := time.Now()
	leave := s.clock.Join()
	run := make(chan error, 1)
	go func() { run <- scanner.Run(ctx) }()
	for second := 0; time.Duration(second)*time.Second < length; second++ {
		if at != nil {
			at(s, second)
		}
		require.NoError(t, s.clock.Sleep(ctx, time.Duration(second+1)*time.Second))
	}
	cancel()
	leave()
	require.NoError(t, <-run)
	s.wall = time.Since(began)
	require.NoError(t, wired.Close())
	require.NoError(t, served.Close())
	return s
}

// column returns times and values of a channel, and requires them healthy.
func (s *visit) column(t testing.TB, name string) (at []time.Duration, values []float64) {
	t.Helper()
	_, index, ok := s.bench.Channel(name)
	require.True(t, ok, name)
	for _, sc := range s.scans {
		for _, r := range sc.Readings {
			if r.Channel == index {
				require.Equal(t, daq.Healthy, r.Health, name)
				at, values = append(at, sc.At), append(values, r.Value)
			}
		}
	}
	return at, values
}

// quiet mounts a unit without noise.
func quiet(s *visit) {
	truth := DefaultTruth(s.bench)
	truth.Sensors = Sensors{}
	s.rig.Mount(truth)
}

// What the program reads is what is true, for every way of reading it.
func TestReadingsAreTheTruth(t *testing.T) {
	for _, o := range []ServeOptions{{}, {TCP: true}} {
		t.Run(fmt.Sprintf("TCP %v", o.TCP), func(t *testing.T) {
			var truth []State
			s := watch(t, everyKindBench(t), 1, o, 40*time.Second, func(s *visit, second int) {
				switch second {
				case 0:
					quiet(s)
					s.rig.SetTemperature(Programme{Start: 295, Rate: -0.002})
				case 5:
					s.rig.Pump(100e5, 5*time.Second)
				case 15:
					s.rig.Lock()
				case 20:
					s.rig.Pump(60e5, time.Second)
				case 39:
					truth = s.rig.States()
				}
			})
			_, body := s.column(t, "body")
			near := func(want float64, name string, tolerance float64) {
				t.Helper()
				at, v := s.column(t, name)
				for i, a := range at {
					if a >= 39*time.Second && a < 39*time.Second+step {
						assert.InDelta(t, want, v[i], tolerance, name)
						return
					}
				}
				t.Errorf("%s: no reading at 39 s", name)
			}
			near(truth[0].Trapped, "trapped_a", 0.5*0.001/16*250e5*1.01)
			near(truth[1].Trapped, "trapped_b", 15) // the air to 5 Pa, twice, and 3 ms later
			near(60e5, "feed", 1)
			near(standardAtmosphere, "air", 5)
			near(truth[0].Probe, "body", 0.0005001)
			near(truth[0].Room, "room", 0.05001)
			assert.Less(t, truth[0].Trapped, 99.9e5, "it leaks")
			assert.Greater(t, len(body), 150)
			assert.Empty(t, s.gaps)
		})
	}
}

func TestSameSeedSameReadings(t *testing.T) {
	run := func(seed uint64, o ServeOptions) *visit {
		return watch(t, everyKindBench(t), seed, o, 30*time.Second, func(s *visit, second int) {
			if second == 3 {
				s.rig.Pump(100e5, 5*time.Second)
			}
		})
	}
	first := run(1, ServeOptions{})
	require.Greater(t, len(first.scans), 300+150+100)
	same := func(a, b *visit) bool { return assert.ObjectsAreEqual(a.scans, b.scans) }
	assert.True(t, same(first, run(1, ServeOptions{})))
	assert.True(t, same(first, run(1, ServeOptions{TCP: true})), "on TCP ports")
	other := run(2, ServeOptions{})
	require.Equal(t, len(first.scans), len(other.scans))
	assert.False(t, same(first, other), "another seed")
}

func TestStreamIsStampedAtTheInstantItWasSent(t *testing.T) {
	s := watch(t, everyKindBench(t), 1, ServeOptions{}, 10*time.Second, nil)
	at, _ := s.column(t, "body")
	require.Greater(t, len(at), 35)
	for _, a := range at {
		assert.Zero(t, a%(250*time.Millisecond), "%v", a)
	}
}

func TestNoiseIsAsAsked(t *testing.T) {
	s := watch(t, everyKindBench(t), 1, ServeOptions{}, 100*time.Second, nil)
	_, v := s.column(t, "trapped_b")
	var sum float64
	for _, x := range v {
		sum += x * x
	}
	// 500 readings: the standard deviation is known to 3 %.
	assert.InEpsilon(t, DefaultSensors.Pressure, math.Sqrt(sum/float64(len(v))), 0.12)
}

func TestUnpluggedCableLeavesAGapAndComesBack(t *testing.T) {
	for _, o := range []ServeOptions{{}, {TCP: true}} {
		t.Run(fmt.Sprintf("TCP %v", o.TCP), func(t *testing.T) {
			s := watch(t, everyKindBench(t), 1, o, 40*time.Second, func(s *visit, second int) {
				switch second {
				case 10:
					require.NoError(t, s.rig.Unplug("thermometer"))
					require.NoError(t, s.rig.Unplug("rs485"))
				case 20:
					require.NoError(t, s.rig.Replug("thermometer"))
					require.NoError(t, s.rig.Replug("rs485"))
				}
			})
			for _, name := range []string{"body", "trapped_a", "trapped_b"} {
				at, _ := s.column(t, name)
				inside := 0
				for _, a := range at {
					if a > 10500*time.Millisecond && a < 20*time.Second {
						inside++
					}
				}
				assert.Zero(t, inside, name)
				assert.Greater(t, at[len(at)-1], 38*time.Second, name)
			}
			assert.NotEmpty(t, s.gaps)
			assert.Error(t, s.rig.Unplug("nowhere"))
		})
	}
}

func TestFeedOfTwoCircuitsShowsTheHigher(t *testing.T) {
	b := everyKindBench(t)
	clock := NewLockStep(morning)
	r, err := New(b, clock, 1)
	require.NoError(t, err)
	r.flows[0].feed, r.flows[1].feed = 3e5, 5e5
	s := r.look(0)
	assert.Equal(t, 5e5, r.pressure("feed")(s))
	assert.Zero(t, r.pressure("nobody's")(s))
}

func TestReadingsDoNotDependOnWhoLooksInBetween(t *testing.T) {
	b := everyKindBench(t)
	trapped := func(looks []time.Duration) float64 {
		clock := &hands{}
		r, err := New(b, clock, 1)
		require.NoError(t, err)
		r.Pump(100e5, 5*time.Second)
		for _, at := range append(looks, 100*time.Second) {
			clock.at = at
			r.States()
		}
		return r.States()[0].Trapped
	}
	assert.Equal(t, trapped(nil), trapped([]time.Duration{1234567, 1e9, 3333333333, 50e9}))
}

// BenchmarkScan is the wall time of one scan in lock-step over
// pseudo-terminals: module at 10 Hz, thermometer at 5 Hz.
func BenchmarkScan(b *testing.B) {
	bn, _, err := CraneLot()[0].Load()
	require.NoError(b, err)
	s := watch(b, bn, 1, ServeOptions{}, time.Duration(b.N)*time.Second/15+time.Second, nil)
	b.ReportMetric(float64(s.wall.Nanoseconds())/float64(len(s.scans)), "ns/scan")
}
