package sequence

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

var (
	pump = daq.Output{Name: "pump 1", Role: daq.Pump}
	lock = daq.Output{Name: "lock a", Role: daq.Lock}
	vent = daq.Output{Name: "vent", Role: daq.Vent}
)

// drivenTest is holdTest with a pump, a lock and a vent valve.
func drivenTest(circuits ...string) *procedure.Procedure {
	p := holdTest(circuits...)
	for i, s := range p.Steps {
		switch s.Phase {
		case procedure.Pressurise:
			p.Steps[i].Timeout = 60 * time.Second
			p.Steps[i].Drive = []procedure.Drive{{Role: daq.Pump, On: true}}
		case procedure.Lock:
			p.Steps[i].Drive = []procedure.Drive{{Role: daq.Lock, On: true}}
		case procedure.Release:
			p.Steps[i].Drive = []procedure.Drive{{Role: daq.Lock}, {Role: daq.Vent, On: true}}
		}
	}
	return p
}

// driveRig is a rig whose outputs obey, unless obey says why not.
type driveRig struct {
	*rig
	on     map[string]bool
	orders []Drive
	obey   func(d Drive) error
}

func newDriveRig(t *testing.T, p *procedure.Procedure, outputs ...daq.Output) *driveRig {
	r := &driveRig{on: map[string]bool{}}
	r.rig = &rig{t: t, m: NewMachine(p, Roles{Circuits: []Circuit{watched("a", 0)}, Outputs: outputs}), health: daq.Missing}
	r.values = [][3]float64{{0, 0, 293}}
	r.drives = func(d Drive) {
		r.orders = append(r.orders, d)
		i := slices.IndexFunc(outputs, func(o daq.Output) bool { return o.Name == d.Output })
		require.GreaterOrEqual(t, i, 0, "an output that there is not")
		result := &daq.Driving{At: r.now, Output: outputs[i], On: d.On, Cause: d.Cause}
		if r.obey != nil {
			result.Err = r.obey(d)
		}
		if result.Err == nil {
			r.on[d.Output] = d.On
		}
		r.step(Input{At: r.now, Driving: result})
	}
	r.step(Input{At: 0})
	return r
}

func (r *driveRig) causes() (out []string) {
	for _, d := range r.orders {
		word := " off: "
		if d.On {
			word = " on: "
		}
		out = append(out, d.Output+word+d.Cause)
	}
	return out
}

func TestProcedureDrivesPumpLockAndVent(t *testing.T) {
	r := newDriveRig(t, drivenTest("a"), pump, lock, vent)
	r.say(GoOn).in(procedure.Pressurise)
	require.True(t, r.on["pump 1"])
	r.at(99)
	require.True(t, r.on["pump 1"])
	r.at(100)
	require.False(t, r.on["pump 1"], "the test pressure is reached")
	r.to(procedure.Release)
	require.False(t, r.on["vent"], "no valve opens by itself")
	require.Contains(t, r.last().Text, "Then type drive, which switches: lock off, vent on.")
	r.say(DriveOutputs).in(procedure.Release)
	require.True(t, r.on["vent"])
	require.Equal(t, Switched, r.last().Kind)
	r.at(0).say(GoOn).in(procedure.Vented)
	require.Equal(t, []string{"pump 1 on: pressurise begins", "pump 1 off: the test pressure is reached",
		"lock a on: lock begins", "lock a off: the operator's word", "vent on: the operator's word"}, r.causes())
}

// One answer that is lost among others stops no pump; two seconds without one
// do, and at once whatever says that the pressure is not what it seems.
func TestPumpRunsOnOverALostAnswer(t *testing.T) {
	pumping := func(health daq.Health, lost time.Duration) *driveRig {
		r := newDriveRig(t, drivenTest("a"), pump, lock, vent)
		r.say(GoOn).in(procedure.Pressurise).at(50)
		r.health, r.values[0][Trapped] = health, math.NaN()
		r.pass(lost)
		return r
	}
	r := pumping(daq.Missing, 300*time.Millisecond)
	require.True(t, r.on["pump 1"])
	r.at(60).in(procedure.Pressurise)
	require.False(t, pumping(daq.Missing, lostAfter+100*time.Millisecond).on["pump 1"])
	for _, h := range daq.Healths {
		if h != daq.Healthy && h != daq.Missing {
			require.False(t, pumping(h, 100*time.Millisecond).on["pump 1"], h.String())
		}
	}
}

func TestPumpStopsWithItsPhase(t *testing.T) {
	for name, c := range map[string]struct {
		do    func(r *driveRig)
		cause string
		ends  procedure.Phase
	}{
		"Enter":     {func(r *driveRig) { r.say(GoOn) }, "pressurise ends", procedure.Pressurise}, // asked again: 50 bar
		"time-out":  {func(r *driveRig) { r.pass(60 * time.Second) }, "time-out of pressurise", procedure.Pressurise},
		"abort":     {func(r *driveRig) { r.say(AbortTest, "hose burst") }, "the test is aborted", procedure.Release},
		"overshoot": {func(r *driveRig) { r.at(130) }, "the test is aborted", procedure.Release},
		"unseen": {func(r *driveRig) { r.values[0][Trapped] = math.NaN(); r.pass(10 * time.Second) },
			"the test is aborted", procedure.Release},
		"the line was gone": {func(r *driveRig) {
			r.step(Input{At: r.now, Driving: &daq.Driving{At: r.now, Output: pump, Safe: true, Cause: "its line was gone"}})
		}, "the test is aborted", procedure.Release},
	} {
		t.Run(name, func(t *testing.T) {
			r := newDriveRig(t, drivenTest("a"), pump, lock, vent)
			r.say(GoOn).in(procedure.Pressurise).at(50)
			require.True(t, r.on["pump 1"])
			c.do(r)
			r.in(c.ends)
			require.False(t, r.on["pump 1"])
			require.Equal(t, c.cause, r.orders[len(r.orders)-1].Cause)
			require.False(t, r.on["vent"], "nothing opened")
		})
	}
}

func TestCommandThatFailsAbortsTheTest(t *testing.T) {
	for _, failing := range []string{"pump 1", "lock a"} {
		r := newDriveRig(t, drivenTest("a"), pump, lock, vent)
		r.obey = func(d Drive) error {
			if d.Output == failing {
				return errors.New("no answer at all")
			}
			return nil
		}
		r.say(GoOn).at(100).say(GoOn).pass(time.Second)
		require.True(t, r.m.Outcome().Aborted)
		require.Equal(t, "output "+failing+": not confirmed as switched on: no answer at all", r.m.Outcome().Cause)
		if failing == "pump 1" {
			require.Contains(t, r.messages, "Output pump 1 is not confirmed as switched off: no answer at all. See that the pump is off; if it runs, switch it off by hand.")
		}
		require.Equal(t, failing, r.of(daq.Fault)[0].Subject[len("output "):])
	}
}

func TestOrderWithoutResultAbortsTheTest(t *testing.T) {
	r := newDriveRig(t, drivenTest("a"), pump, lock, vent)
	r.drives = func(Drive) {}
	r.say(GoOn).pass(4 * time.Second).in(procedure.Pressurise).pass(2 * time.Second).in(procedure.Release)
	require.Contains(t, r.m.Outcome().Cause, "no result for 5 s")
}

func TestPumpIsNotSwitchedOnBlind(t *testing.T) {
	r := newDriveRig(t, drivenTest("a"), pump)
	r.values[0][Trapped] = math.NaN()
	r.say(GoOn).in(procedure.Release)
	require.NotContains(t, r.causes(), "pump 1 on: pressurise begins")
	require.Contains(t, r.m.Outcome().Cause, "no fresh reading of the trapped pressure a, so the pump is not switched on")
}

// Whatever happens, a pump runs only in the phase that drives it, with its
// pressure seen and below what the start window allows; a valve opens at the
// operator's word in release alone; and without outputs nothing is driven.
func TestOutputsAreSafeWhateverHappens(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		outputs := []daq.Output{pump, lock, vent}
		if rapid.Bool().Draw(rt, "no outputs") {
			outputs = nil
		}
		r := newDriveRig(t, drivenTest("a"), outputs...)
		fails := false
		r.obey = func(Drive) error {
			if fails {
				return errors.New("no answer")
			}
			return nil
		}
		said := false // the word that may open, in release
		check := func(what string) {
			switch {
			case outputs == nil && len(r.orders) > 0:
				rt.Fatalf("%s: driven without outputs: %v", what, r.causes())
			case r.on["pump 1"] && !fails && r.m.phase() != procedure.Pressurise:
				rt.Fatalf("%s: the pump runs in %s: %v", what, r.m.phase(), r.causes())
			case r.on["vent"] && !said:
				rt.Fatalf("%s: the vent opened by itself: %v", what, r.causes())
			}
		}
		for range rapid.IntRange(1, 40).Draw(rt, "steps") {
			what := rapid.SampledFrom([]string{"enter", "enter", "drive", "vented", "abort", "note", "pass", "pressure", "lost", "silent", "fails", "line gone", "look"}).Draw(rt, "what")
			switch what {
			case "enter":
				r.say(GoOn)
			case "drive":
				r.say(DriveOutputs)
				said = said || !r.m.testing()
			case "vented":
				r.say(ConfirmVented)
			case "abort":
				r.say(AbortTest, "for a reason")
			case "note":
				r.say(TakeNote, "note")
			case "pass":
				r.pass(time.Duration(rapid.IntRange(1, 70).Draw(rt, "s")) * time.Second)
			case "pressure":
				r.at(float64(rapid.IntRange(0, 140).Draw(rt, "bar")))
			case "lost":
				r.values[0][Trapped] = math.NaN()
			case "silent":
				r.silent = !r.silent
			case "fails", "line gone":
				fails = what == "fails" && !fails
				if outputs != nil && !fails { // reached again, the scanner makes it safe
					r.on["pump 1"] = false
					r.step(Input{At: r.now, Driving: &daq.Driving{At: r.now, Output: pump, Safe: true, Cause: "its line was gone"}})
				}
			}
			check(what)
			if r.closed != nil {
				return
			}
		}
	})
}
