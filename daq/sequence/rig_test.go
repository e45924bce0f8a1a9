package sequence

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

const bar = 1e5

// holdTest is an invented procedure: fill, pressurise, lock, vent feed and
// release by the operator, stabilise and hold by time.
func holdTest(circuits ...string) *procedure.Procedure {
	return &procedure.Procedure{
		Circuits: circuits, TestPressure: 100 * bar, StartLow: 95 * bar, StartHigh: 105 * bar,
		MaxPressure: 120 * bar, SafePressure: 2 * bar, FeedBelow: 5 * bar,
		Steps: []procedure.Step{
			{Phase: procedure.Fill, ByOperator: true, Timeout: 30 * time.Second},
			{Phase: procedure.Pressurise, ByOperator: true},
			{Phase: procedure.Lock, ByOperator: true},
			{Phase: procedure.VentFeed, ByOperator: true},
			{Phase: procedure.Stabilise, Duration: 20 * time.Second},
			{Phase: procedure.Hold, Duration: 60 * time.Second},
			{Phase: procedure.Release, ByOperator: true},
		},
	}
}

// watched is a circuit with three channels, numbered from first.
func watched(name string, first int) Circuit {
	const interval = 100 * time.Millisecond
	return Circuit{Name: name, Tested: true,
		Trapped:     Role{"trapped_" + name, first, interval},
		Feed:        Role{"feed_" + name, first + 1, interval},
		Temperature: Role{"temperature_" + name, first + 2, interval}}
}

// rig steps a machine through made-up time and keeps what it wants done.
type rig struct {
	t   *testing.T
	m   *Machine
	now time.Duration
	// values by circuit and part, SI; NaN is an unhealthy reading.
	values [][3]float64
	health daq.Health  // of unhealthy readings
	silent bool        // no scans, only ticks
	drives func(Drive) // carries out what is driven; nil: nobody does

	events   []daq.Event
	prompts  []Prompt
	messages []string
	held     int
	closed   *Outcome
}

func newRig(t *testing.T, p *procedure.Procedure, circuits ...Circuit) *rig {
	r := &rig{t: t, m: NewMachine(p, Roles{Circuits: circuits}), health: daq.Missing}
	for range circuits {
		r.values = append(r.values, [3]float64{0, 0, 293})
	}
	r.step(Input{At: 0})
	return r
}

// step takes one step and sorts its actions.
func (r *rig) step(in Input) {
	r.t.Helper()
	var drives []Drive
	defer func() {
		for _, d := range drives {
			if r.drives != nil {
				r.drives(d)
			}
		}
	}()
	for _, a := range r.m.Step(in) {
		require.Nil(r.t, r.closed, "actions after the close")
		switch a := a.(type) {
		case Record:
			r.events = append(r.events, a.Event)
		case Show:
			r.prompts = append(r.prompts, a.Prompt)
		case Say:
			r.messages = append(r.messages, a.Text)
		case Drive:
			drives = append(drives, a)
		case HoldEnded:
			r.held++
		case Close:
			r.closed = &a.Outcome
		}
	}
}

// pass lets time pass, with a scan each 100 ms, or a tick each 500 ms.
func (r *rig) pass(d time.Duration) *rig {
	r.t.Helper()
	for end := r.now + d; r.now < end; {
		if r.silent {
			r.now += 500 * time.Millisecond
			r.step(Input{At: r.now})
			continue
		}
		r.now += 100 * time.Millisecond
		r.step(Input{At: r.now, Readings: r.readings()})
	}
	return r
}

func (r *rig) readings() []Reading {
	var out []Reading
	for i, c := range r.m.roles.Circuits {
		for _, part := range parts {
			if !c.role(part).Exists() {
				continue
			}
			reading := Reading{Circuit: i, Part: part, Value: r.values[i][part]}
			if math.IsNaN(reading.Value) {
				reading.Health = r.health
			}
			out = append(out, reading)
		}
	}
	return out
}

// at sets the trapped pressure of every circuit, in bar, for a second.
func (r *rig) at(trapped float64) *rig {
	r.t.Helper()
	for i := range r.values {
		r.values[i][Trapped] = trapped * bar
	}
	return r.pass(time.Second)
}

// feed sets the feed pressure of every circuit, in bar, from now on.
func (r *rig) feed(bars float64) *rig {
	for i := range r.values {
		r.values[i][Feed] = bars * bar
	}
	return r
}

// say answers, a second after whatever came last.
func (r *rig) say(kind AnswerKind, text ...string) *rig {
	r.t.Helper()
	r.pass(time.Second)
	r.step(Input{At: r.now, Answer: &Answer{Kind: kind, Text: strings.Join(text, " ")}})
	return r
}

// in checks the phase.
func (r *rig) in(ph procedure.Phase) *rig {
	r.t.Helper()
	require.Equal(r.t, ph, r.m.phase())
	return r
}

// to brings the run to a phase the normal way, at 100 bar once pumped up.
func (r *rig) to(ph procedure.Phase) *rig {
	r.t.Helper()
	for r.m.phase() != ph {
		was := r.m.phase()
		switch was {
		case procedure.Pressurise:
			r.feed(100).at(100).pass(100 * time.Millisecond).feed(0).say(GoOn)
		case procedure.Stabilise:
			r.pass(20 * time.Second)
		case procedure.Hold:
			r.pass(60 * time.Second)
		default:
			r.say(GoOn)
		}
		require.NotEqual(r.t, was, r.m.phase(), "the phase did not end")
	}
	return r
}

// of returns the events of a kind.
func (r *rig) of(kind daq.EventKind) []daq.Event {
	var out []daq.Event
	for _, e := range r.events {
		if e.Kind == kind {
			out = append(out, e)
		}
	}
	return out
}

// kinds counts the prompts of a kind.
func (r *rig) count(kind PromptKind) int {
	n := 0
	for _, p := range r.prompts {
		if p.Kind == kind {
			n++
		}
	}
	return n
}

// last is the newest prompt.
func (r *rig) last() Prompt { return r.prompts[len(r.prompts)-1] }

// message is the newest message.
func (r *rig) message() string { return r.messages[len(r.messages)-1] }

// ends checks the outcome, live and read back from the events.
func (r *rig) ends(want Outcome) {
	r.t.Helper()
	require.NotNil(r.t, r.closed, "the run is not over; it waits in %s: %s", r.m.phase(), r.m.Status().Vent.Missing)
	require.Equal(r.t, want, *r.closed)
	require.Equal(r.t, want, OutcomeOf(r.events), "read back from the events")
	require.True(r.t, r.m.Done())
}

// runs says that the run is not over and stands as pressurised.
func (r *rig) runs() *rig {
	r.t.Helper()
	require.Nil(r.t, r.closed)
	require.Equal(r.t, TreatAsPressurised, r.m.Outcome().Vented)
	require.Equal(r.t, TreatAsPressurised, r.m.Status().Vent.State)
	return r
}
