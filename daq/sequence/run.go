package sequence

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
)

// tick is how often time alone steps the machine, so that prompts and phases
// go on when no scan comes.
const tick = 500 * time.Millisecond

// Panel is what the operator sees. Its methods are called one at a time, in
// order, never under a lock of the loop: they may call Loop.Answer. They must
// return soon, because scans wait for them.
type Panel interface {
	Prompt(Prompt)
	Status(Status)
	Message(text string)
}

// Scans is where scans and events come from; *daq.Scanner is one.
type Scans interface {
	Subscribe(each func(daq.Scan) error) (cancel func())
	OnEvent(each func(daq.Event)) (cancel func())
}

// Outputs is where outputs are switched; *daq.Scanner is one.
type Outputs interface {
	Order(output string, on bool, cause string) error
	OnDriven(each func(daq.Driving)) (cancel func())
}

// Config is all that a run needs.
type Config struct {
	Procedure *procedure.Procedure
	Position  bench.Position
	// Channels of the bench; Reading.Channel is an index into it.
	Channels []daq.Channel
	Scanner  Scans
	// Outputs switches what the procedure drives, and Driven says what it may
	// drive at the position. Nil: nothing is driven.
	Outputs Outputs
	Driven  []daq.Output
	Clock   daq.Clock
	// Joined is true when the goroutine that calls Run has joined the clock
	// already. Otherwise Run joins it, and leaves it when it returns.
	Joined bool
	// Log is where scans and events go before anything looks at them.
	Log daq.Log
	// Flush, if not nil, brings the log onto the disk before Run returns.
	Flush func() error
	Panel Panel
	// OnHoldEnd, if not nil, judges a hold that ran its full length; the text
	// it returns is shown. It is called once, outside locks, when the end of
	// the hold and every reading that belongs to it are logged (see
	// lastReadings), so that it says what a later judgement will say; scans
	// wait for it.
	OnHoldEnd func() string
	// OnLook, if not nil, looks at the growing hold, when every reading up to
	// the look is logged. It is called on a goroutine of its own, one look at
	// a time, and scans go on meanwhile; the clock waits for it as for any
	// goroutine that joined it. Without it every look goes on.
	OnLook func(Look) LookAnswer
	// Display holds the units of prompts; the zero value is the default.
	Display si.Display
}

// Loop runs one procedure once: write, step, act, show.
type Loop struct {
	c     Config
	roles Roles
	err   error // of the configuration

	mu       sync.Mutex
	machine  *Machine
	queue    []Input
	stepping bool
	open     bool // between the beginning and the end of Run
	left     bool // Run has ended
	logErr   error
	panicked atomic.Pointer[daq.PanicError]

	// judgeFrom is the clock time from which a hold that ended is judged;
	// touched by show alone, which is called one at a time.
	judgeFrom time.Duration
	toJudge   bool
	// look is the one that is wanted from the clock time lookFrom on, nil for
	// none; touched by show alone. looks are under way.
	look     *Look
	lookFrom time.Duration
	looks    sync.WaitGroup
}

// lastReadings is how long after the end of a hold its last readings may
// still come: the slowest instrument's answer, and a line on its way.
func (l *Loop) lastReadings() time.Duration {
	longest := 100 * time.Millisecond
	for _, c := range l.roles.Circuits {
		for _, more := range c.MoreTemperatures {
			longest = max(longest, more.Interval)
		}
		for _, part := range []Part{Trapped, Feed, Temperature} {
			longest = max(longest, c.role(part).Interval)
		}
	}
	return 2 * longest
}

// New returns a loop that is ready to run. What does not fit together in the
// configuration is reported by Run.
func New(c Config) *Loop {
	l := &Loop{c: c}
	l.roles, l.err = NewRoles(c.Position, c.Procedure.Circuits, c.Channels, c.Display)
	if c.Outputs != nil {
		l.roles.Outputs = c.Driven
	}
	l.machine = NewMachine(c.Procedure, l.roles)
	return l
}

// Run runs the procedure c; see Loop.Run.
func Run(ctx context.Context, c Config) (Outcome, error) { return New(c).Run(ctx) }

// Run runs the procedure until the unit is vented or the operator overrides,
// and returns how it ended. It keeps pace by the clock on the goroutine that
// calls it. When the context ends first, the run is left as it is: the
// outcome is TreatAsPressurised and the log says so.
//
// A panic in the log, in a step, in the panel or in what is called at the hold's end and at
// looks, on whichever goroutine, ends the run, and Run panics with a
// *daq.PanicError when the log is on the disk: so the caller's deferred calls
// bring the bench to its safe state.
//
// An error means that the configuration does not fit together, or that
// something could not be written; in the latter case the test was aborted,
// the vent watch was kept, and the outcome holds all the same.
func (l *Loop) Run(ctx context.Context) (Outcome, error) {
	if l.err != nil {
		return l.machine.Outcome(), l.err
	}
	if !l.c.Joined {
		defer l.c.Clock.Join()()
	}
	l.mu.Lock()
	l.open = true
	l.mu.Unlock()
	if l.c.Outputs != nil {
		defer l.c.Outputs.OnDriven(func(d daq.Driving) { l.feed(Input{At: d.At, Driving: &d}) })()
	}
	l.feed(Input{At: l.c.Clock.Now()})
	defer l.c.Scanner.Subscribe(l.scan)()
	defer l.c.Scanner.OnEvent(l.event)()
	for !l.over() {
		if l.c.Clock.Sleep(ctx, l.c.Clock.Now()+tick) != nil {
			break // the context ended: leave says so
		}
		l.feed(Input{At: l.c.Clock.Now()})
	}
	l.looks.Wait()
	if p := l.panicked.Load(); p != nil {
		_, err := l.leave()
		panic(errors.Join(p, err))
	}
	return l.leave()
}

// Answer takes what the operator says; from any goroutine, also from within
// the panel's methods. It is handled right after the step that is under way.
func (l *Loop) Answer(a Answer) { l.feed(Input{At: l.c.Clock.Now(), Answer: &a}) }

// Abort aborts the test, never the recording nor the vent watch.
func (l *Loop) Abort(reason string) { l.Answer(Answer{Kind: AbortTest, Text: reason}) }

// scan writes a scan, then steps the machine with it. A failing log is not
// the scanner's trouble: the vent watch still needs the scans.
func (l *Loop) scan(s daq.Scan) error {
	l.mu.Lock()
	l.guard(func() { // so that a panic leaves nothing locked
		if l.open && !l.machine.Done() {
			l.wrote(l.c.Log.Scan(s))
			l.queue = append(l.queue, Input{At: s.At, Readings: l.roles.Pick(s), Switches: l.roles.PickSwitches(s)})
		}
	})
	l.drain()
	return nil
}

// event writes a gap, a fault, an edge or a driven output of the scanner's.
func (l *Loop) event(e daq.Event) {
	l.mu.Lock()
	l.guard(func() {
		if l.open && !l.machine.Done() {
			l.wrote(l.c.Log.Event(e))
		}
	})
	l.drain()
}

// feed steps the machine with an input that is no scan. What comes before Run
// is handled when it begins; after it there is nobody to answer.
func (l *Loop) feed(in Input) {
	l.mu.Lock()
	if !l.left {
		l.queue = append(l.queue, in)
	}
	l.drain()
}

// drain steps the machine through the queue, unless another call is at it
// already and will. It is called with mu locked and returns with it free.
func (l *Loop) drain() {
	if l.stepping || !l.open {
		l.mu.Unlock()
		return
	}
	l.stepping = true
	for len(l.queue) > 0 {
		in := l.queue[0]
		l.queue = l.queue[1:]
		if !l.open || l.machine.Done() {
			continue
		}
		var actions []Action
		var status Status
		l.guard(func() { actions, status = l.step(in) })
		l.mu.Unlock()
		l.guard(func() { l.show(actions, status) })
		l.mu.Lock()
		l.open = l.open && l.panicked.Load() == nil
	}
	l.stepping = false
	l.mu.Unlock()
}

// step steps the machine, and writes what it wants recorded.
func (l *Loop) step(in Input) ([]Action, Status) {
	actions := l.machine.Step(in)
	for _, a := range actions {
		if r, ok := a.(Record); ok {
			l.wrote(l.c.Log.Event(r.Event))
		}
	}
	return actions, l.machine.Status()
}

// guard calls do and keeps its panic for Run.
func (l *Loop) guard(do func()) {
	if p := daq.Guard(do); p != nil {
		l.panicked.CompareAndSwap(nil, p)
	}
}

// wrote looks at what the log says. The first failure aborts the test: what
// is not recorded cannot be judged.
func (l *Loop) wrote(err error) {
	if err == nil || l.logErr != nil {
		return
	}
	l.logErr = err
	l.queue = append(l.queue, Input{At: l.c.Clock.Now(), RecordingFault: "cannot be written: " + err.Error()})
}

// show carries out what is for people.
func (l *Loop) show(actions []Action, status Status) {
	for _, a := range actions {
		switch a := a.(type) {
		case Show:
			l.c.Panel.Prompt(a.Prompt)
		case Say:
			l.c.Panel.Message(a.Text)
		case Drive:
			l.drive(a)
		case TakeLook:
			l.look, l.lookFrom = &a.Look, status.At+l.lastReadings()
		case HoldEnded:
			l.toJudge, l.judgeFrom = l.c.OnHoldEnd != nil, status.At+l.lastReadings()
		}
	}
	if l.look != nil && status.At >= l.lookFrom {
		l.takeLook(*l.look)
		l.look = nil
	}
	if l.toJudge && status.At >= l.judgeFrom {
		l.toJudge = false
		l.c.Panel.Message(l.c.OnHoldEnd())
	}
	l.c.Panel.Status(status)
}

// drive has an output switched; what cannot be ordered comes back as not done.
func (l *Loop) drive(a Drive) {
	err := errors.New("nothing is driven here")
	if l.c.Outputs != nil {
		if err = l.c.Outputs.Order(a.Output, a.On, a.Cause); err == nil {
			return
		}
	}
	d := daq.Driving{At: l.c.Clock.Now(), On: a.On, Cause: a.Cause, Err: err}
	for _, o := range l.roles.Outputs {
		if o.Name == a.Output {
			d.Output = o
		}
	}
	l.feed(Input{At: d.At, Driving: &d})
}

// takeLook has the growing hold looked at, and the machine told.
func (l *Loop) takeLook(look Look) {
	if l.c.OnLook == nil {
		l.feed(Input{At: l.c.Clock.Now(), Look: &LookAnswer{Number: look.Number, Text: "nobody looks"}})
		return
	}
	leave := l.c.Clock.Join()
	l.looks.Go(func() {
		defer leave()
		var answer LookAnswer
		l.guard(func() { answer = l.c.OnLook(look) })
		answer.Number = look.Number
		l.feed(Input{At: l.c.Clock.Now(), Look: &answer})
	})
}

// over says whether the machine is done and all was shown.
func (l *Loop) over() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return (l.machine.Done() || l.panicked.Load() != nil) && !l.stepping
}

// leave ends the run, whether it is over or left as it is.
func (l *Loop) leave() (Outcome, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.open, l.left = false, true
	outcome := l.machine.Outcome()
	if !l.machine.Done() {
		at := l.c.Clock.Now()
		outcome.Reason = fmt.Sprintf("left during %s, before vented was shown", l.machine.phase())
		l.wrote(l.c.Log.Event(daq.Event{At: at, Until: at, Kind: daq.Note, Subject: TreatAsPressurised, Text: outcome.Reason}))
	}
	err := l.logErr
	if l.c.Flush != nil {
		err = errors.Join(err, l.c.Flush())
	}
	return outcome, err
}
