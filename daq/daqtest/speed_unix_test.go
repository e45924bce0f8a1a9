//go:build linux || darwin

package daqtest_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// Each BenchmarkSpeed of exchanges has two parts: what the README claims, and
// libmodbus's client at the same server in the same run (.ci/speed makes the
// table). A terminal has no baud and libmodbus keeps no silent interval there,
// so that ours keeps none either; what a line allows is another matter.

// processor is the processor time that this process has used.
func processor() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// patient is a clock on which sleeping costs no time, as in lock-step.
type patient struct{ daq.Clock }

func (patient) Sleep(context.Context, time.Duration) error { return nil }

// exchanged is what exchanges cost: time on the clock, and of the processor.
type exchanged struct{ wall, processor time.Duration }

// ours reads that many float32 channels in each exchange.
func ours(b *testing.B, port string, channels int, clock daq.Clock) exchanged {
	p, err := link.Open(link.Config{Port: port, Baud: 115200, Timeout: 5 * time.Second}, link.Options{})
	require.NoError(b, err)
	defer func() { require.NoError(b, p.Close()) }()
	var points []modbus.Point
	for i := range channels {
		points = append(points, modbus.Point{Function: modbus.ReadInput, Register: uint16(2 * i), Format: modbus.Format{Type: modbus.Float32}})
	}
	in := modbus.NewInstrument(modbus.NewClient(p, clock), 17, points)
	dst := make([]daq.Signal, channels)
	require.NoError(b, in.Sample(b.Context(), dst))
	began, used := time.Now(), processor()
	for range b.N {
		if err := in.Sample(b.Context(), dst); err != nil {
			b.Fatal(err)
		}
	}
	return exchanged{time.Since(began), processor() - used}
}

// theirs has libmodbus's client read as many registers.
func theirs(b *testing.B, client, port string, channels int) exchanged {
	out, err := exec.Command(client, port, fmt.Sprint(2*channels), fmt.Sprint(b.N)).CombinedOutput()
	require.NoError(b, err, string(out))
	var n, wall, processor int64
	_, err = fmt.Sscan(string(out), &n, &wall, &processor)
	require.NoError(b, err)
	require.EqualValues(b, b.N, n)
	return exchanged{time.Duration(wall), time.Duration(processor)}
}

// Exchanges over a pair of pseudo-terminals with libmodbus's server: time and
// processor time of each, ours and libmodbus's client's.
func BenchmarkSpeedExchange(b *testing.B) {
	port := libmodbus(b)
	client := compiled(b, "libmodbus_client")
	for _, what := range []struct {
		name string
		of   func(exchanged) time.Duration
	}{{"wall", func(e exchanged) time.Duration { return e.wall }}, {"processor", func(e exchanged) time.Duration { return e.processor }}} {
		for _, channels := range []int{1, 4, 16} {
			report := func(b *testing.B, e exchanged) {
				b.ReportMetric(float64(what.of(e))/float64(b.N), "ns/op")
			}
			b.Run(fmt.Sprintf("%s%d/ours", what.name, channels), func(b *testing.B) {
				report(b, ours(b, port, channels, patient{daq.NewWallClock()}))
			})
			b.Run(fmt.Sprintf("%s%d/against", what.name, channels), func(b *testing.B) {
				report(b, theirs(b, client, port, channels))
			})
		}
	}
}

// What the silent interval of 1.75 ms leaves of that: as on a real line, but
// for the time of its characters.
func BenchmarkExchangeWithSilentInterval(b *testing.B) {
	port := libmodbus(b)
	for _, channels := range []int{1, 4, 16} {
		b.Run(fmt.Sprint(channels), func(b *testing.B) {
			e := ours(b, port, channels, daq.NewWallClock())
			b.ReportMetric(float64(b.N)/e.wall.Seconds(), "exchanges/s")
			b.ReportMetric(float64(e.processor)/float64(b.N), "processor-ns/op")
		})
	}
}

// A large bench: lines, instruments on each and how often they are asked.
const (
	manyLines     = 8
	onEach        = 4
	sweeps        = 20 * time.Millisecond
	slavesAllowed = "HOLDBENCH_SLAVES"
)

// TestServeSlaves plays a large bench's instruments in a process of its own,
// so that the benchmark's processor time is the program's alone.
func TestServeSlaves(t *testing.T) {
	if os.Getenv(slavesAllowed) == "" {
		t.Skip("this is the far end of BenchmarkLines, which starts it")
	}
	var paths []string
	for range manyLines {
		path, tty := daqtest.PTY(t)
		paths = append(paths, path)
		var slaves []daqtest.Slave
		for address := range onEach {
			registers := map[uint16]uint16{}
			for r := range uint16(8) {
				registers[r] = 0x4200 + r
			}
			slaves = append(slaves, daqtest.Slave{Address: byte(address + 1), Registers: registers})
		}
		go daqtest.Serve(&opened{tty}, slaves...)
	}
	fmt.Println("ready", strings.Join(paths, " "))
	time.Sleep(time.Hour) // it is killed
}

// opened is an instrument's end of a terminal that waits until somebody opens
// the other.
type opened struct{ *os.File }

func (o *opened) Read(b []byte) (int, error) {
	for {
		n, err := o.File.Read(b)
		if err == nil || errors.Is(err, os.ErrClosed) {
			return n, err
		}
		time.Sleep(time.Millisecond)
	}
}

// linesFile is the bench file of the large bench: four float32 channels each.
func linesFile(paths []string) string {
	var b strings.Builder
	fmt.Fprintln(&b, `name = "large"`)
	for i, path := range paths {
		fmt.Fprintf(&b, "[[link]]\nname = \"line%d\"\nport = %q\nbaud = 115200\ntimeout = \"1 s\"\n", i, path)
		for k := range onEach {
			fmt.Fprintf(&b, "[[instrument]]\nname = \"module%d_%d\"\nkind = \"modbus-rtu\"\nlink = \"line%d\"\naddress = %d\ninterval = \"%d ms\"\n",
				i, k, i, k+1, sweeps.Milliseconds())
			for c := range 4 {
				fmt.Fprintf(&b, "[[channel]]\nname = \"p%d_%d_%d\"\nquantity = \"pressure\"\ninstrument = \"module%d_%d\"\nraw_unit = \"bar\"\n"+
					"range = [\"0 bar\", \"250 bar\"]\nreference = \"gauge\"\nfunction = 4\nregister = %d\ntype = \"float32\"\nword_order = \"high-first\"\n",
					i, k, c, i, k, 2*c)
			}
		}
	}
	fmt.Fprint(&b, "[[position]]\nname = \"1\"\n[[position.circuit]]\nname = \"a\"\ntrapped = \"p0_0_0\"\nfeed = \"p0_0_1\"\n")
	return b.String()
}

// 32 instruments on 8 lines, 50 times a second each, for a minute: how late the
// latest scan was, whether the memory stays as it is, and what of a processor
// it takes. The instruments are played by another process.
func BenchmarkLines(b *testing.B) {
	b.Setenv(slavesAllowed, "yes")
	paths := strings.Fields(started(b, os.Args[0], "-test.run=^TestServeSlaves$"))
	require.Len(b, paths, manyLines)
	large, err := bench.Parse("bench.toml", []byte(linesFile(paths)))
	require.NoError(b, err)
	for range b.N {
		lines(b, large)
	}
}

func lines(b *testing.B, large *bench.Bench) {
	const warm, span = 5 * time.Second, time.Minute
	clock := daq.NewWallClock()
	w, err := large.Wire(clock, bench.WireOptions{})
	require.NoError(b, err)
	defer func() { require.NoError(b, w.Close()) }()
	scanner := daq.NewScanner(clock, w.Lines)
	unhealthy := 0
	scanner.Subscribe(func(s daq.Scan) error {
		for _, r := range s.Readings {
			if r.Health != daq.Healthy {
				unhealthy++
			}
		}
		return nil
	})
	ctx, stop := context.WithCancel(b.Context())
	over := make(chan error, 1)
	go func() { over <- scanner.Run(ctx) }()
	require.NoError(b, clock.Sleep(ctx, warm))
	before, used, began := memory(), processor(), time.Now()
	require.NoError(b, clock.Sleep(ctx, warm+span))
	after, share := memory(), float64(processor()-used)/float64(time.Since(began))
	stop()
	require.NoError(b, <-over)

	var latest time.Duration
	scans, missed := 0, 0
	for _, t := range scanner.Timing() {
		latest, scans, missed = max(latest, t.Latest), scans+t.Scans, missed+t.Missed
	}
	require.Zero(b, unhealthy)
	b.ReportMetric(float64(scans), "scans")
	b.ReportMetric(float64(missed), "missed")
	b.ReportMetric(float64(latest)/1e6, "latest-ms")
	b.ReportMetric(before, "MiB-before")
	b.ReportMetric(after, "MiB-after")
	b.ReportMetric(100*share, "%processor")
}

// memory is what is in use, after tidying up, MiB.
func memory() float64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc+m.StackInuse) / (1 << 20)
}
