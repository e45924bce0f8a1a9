package daqtest_test

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"holdbench/daq/daqtest"
)

var table = flag.Bool("table", false, "ten times as many exchanges over faulty lines, and the README's table of what came of them")

// exchanges of each trial.
func exchanges() int {
	if *table {
		return 20000
	}
	return 2000
}

// occurrence is something that happens to a line once, for ten seconds in
// mid-hold.
type occurrence struct {
	name string
	hand func(x *trial)
}

const (
	begins = 60 * time.Second
	lasts  = 10 * time.Second
)

// wait sleeps until an instant of the trial.
func (x *trial) wait(until time.Duration) { _ = x.clock.Sleep(context.Background(), until) }

var occurrences = []occurrence{
	{"silent for 10 s", func(x *trial) {
		x.wait(begins)
		x.mute.Store(true)
		x.wait(begins + lasts)
		x.mute.Store(false)
	}},
	{"port gone for 10 s", func(x *trial) {
		x.wait(begins)
		x.cable.Pull()
		x.wait(begins + lasts)
		x.cable.Plug()
	}},
	{"babbling for 10 s", func(x *trial) {
		x.wait(begins)
		x.line.Harm(daqtest.Lost, 1) // what the instrument says is drowned
		random := rand.New(rand.NewPCG(1, 1))
		for at := begins; at < begins+lasts; at += 10 * time.Millisecond {
			b := make([]byte, 19) // as many as 19 200 bit/s carry
			for i := range b {
				b[i] = byte(random.Uint32())
			}
			x.cable.Send(b)
			x.wait(at)
		}
		x.line.Harm(daqtest.Lost, 0)
	}},
	{"at another baud for 10 s", func(x *trial) {
		x.wait(begins)
		x.line.Harm(daqtest.WrongBaud, 1)
		x.wait(begins + lasts)
		x.line.Harm(daqtest.WrongBaud, 0)
	}},
	{"restarts, and prints its banner", func(x *trial) {
		x.wait(begins)
		x.mute.Store(true)
		x.wait(begins + 3*time.Second)
		for _, line := range []string{"\r\n\r\nBoot 1.07\r\n", "Gauge 1 Rev. 2.14, S/N 0042; 16 bit\r\n", "+0100.0000\r\n", "ready\r\n"} {
			x.cable.Send([]byte(line))
			x.wait(x.clock.Now() + 150*time.Millisecond)
		}
		x.mute.Store(false)
	}},
}

// No fault of a line puts a wrong value into a recording, stops the reading or
// hides a hole.
func TestFaultyLineCostsReadingsOnly(t *testing.T) {
	rates := []float64{0.001, 0.01, 0.1}
	rows := newRows()
	for _, s := range subjects {
		for _, fault := range append(slices.Clone(daqtest.Faults), daqtest.AnyOf(s.seen()...)) {
			for _, rate := range rates {
				t.Run(fmt.Sprintf("%s/%s/%g", s.name, fault.Name, rate), func(t *testing.T) {
					n := exchanges()
					out := run(t, s, n, fault, rate, nil)
					rows.add(fault.Name, s, out)
					// A line that did not come from a stream leaves nothing to count.
					if out.lost() > 20 && !(s.streams && fault.Name == daqtest.Lost.Name) {
						assert.Regexp(t, `, [1-9][0-9]* [a-z]+`, out.counted, "what was lost is counted")
					}
					if s.unseen == nil || !s.unseen(fault) {
						assert.Zero(t, out.wrong, "%+v", out)
					}
				})
			}
		}
	}
	for _, s := range subjects {
		if s.streams {
			continue // nobody waits for a line
		}
		for _, rate := range rates {
			t.Run(fmt.Sprintf("%s/very late/%g", s.name, rate), func(t *testing.T) {
				out := run(t, s, exchanges(), daqtest.Delayed, rate, func(x *trial) { x.line.Delay(veryLate) })
				rows.add("delayed by up to six time-outs", s, out)
				if s.numbered {
					assert.Zero(t, out.wrong, "%+v", out)
				}
			})
		}
	}
	for _, s := range subjects {
		for _, o := range occurrences {
			t.Run(s.name+"/"+o.name, func(t *testing.T) {
				const n = 1200
				out := run(t, s, n, daqtest.Fault{}, 0, o.hand)
				rows.add(o.name, s, out)
				assert.Zero(t, out.wrong, "%+v", out)
				assert.NotZero(t, out.gaps)
				assert.Less(t, out.lost(), int((lasts+6*time.Second)/interval), "it is read again soon after")
			})
		}
	}
	if *table {
		fmt.Print(rows)
	}
}
