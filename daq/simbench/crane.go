package simbench

import (
	"embed"
	"fmt"
	"io/fs"
	"time"

	"holdbench/analysis/verdict"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
)

//go:embed crane/*.toml
var craneFiles embed.FS

// CraneFiles returns the demonstration's files: two bench files, their
// characterisations and two procedures. All their figures are invented.
func CraneFiles() fs.FS {
	files, err := fs.Sub(craneFiles, "crane")
	if err != nil {
		panic("simbench: " + err.Error()) // the folder is embedded above
	}
	return files
}

// CraneStart is the instant at which the demonstration begins: invented, and
// before anything in its files expires.
var CraneStart = time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)

// CraneDelays is how long the demonstration's operator takes in each phase
// that waits for Enter.
var CraneDelays = map[procedure.Phase]time.Duration{
	procedure.Fill: 10 * time.Second, procedure.Pressurise: 15 * time.Second,
	procedure.Lock: 5 * time.Second, procedure.VentFeed: 10 * time.Second,
	procedure.Release: 5 * time.Second, procedure.Vented: 2 * time.Second,
}

// Expect is what must come out of a unit's test.
type Expect struct {
	Verdict verdict.Verdict
	Valid   bool
}

// Unit is one unit of the demonstration's lot: a holding valve of a harbour
// crane's slewing brake, and how its day on the bench goes.
type Unit struct {
	Serial string
	// Title in a few words, What in a sentence: what is the matter.
	Title, What string
	// Bench and Procedure are names in CraneFiles.
	Bench, Procedure string
	Truth            Truth
	// CreepingFeed is the rate (Pa/s) at which the feed side, left unvented,
	// is pumped up; 0: it is vented.
	CreepingFeed float64
	Expect       Expect
}

// Files of the demonstration.
const (
	craneBench     = "bench.toml"
	cranePoorBench = "bench-poor.toml"
	craneHold      = "hold.toml"
	craneLeakOnly  = "hold-leak-only.toml"
	craneEarly     = "hold-early.toml"
	craneDualBench = "bench-dual.toml"
	craneDualHold  = "hold-dual.toml"
)

const (
	barPerMinute    = 1e5 / 60
	kelvinPerMinute = 1.0 / 60
)

// goodUnit is the truth about a unit that holds: a leak far below the limit,
// in a hall whose temperature hardly moves.
func goodUnit() Truth {
	return Truth{
		Circuit: Circuit{
			ThermalCoefficient: 4.5e5, Stiffness: 3e12, TestPressure: 100e5,
			Leak:    0.03 * barPerMinute,
			Warming: 0.06 / 100e5, WarmingTime: 40, Lag: 40,
			Settling: []Settling{{Amplitude: 0.2e5, TimeConstant: 20}},
		},
		Temperature: Programme{Start: 295.15, Rate: -0.02 * kelvinPerMinute},
		ProbeLag:    3,
		Sensors:     DefaultSensors,
	}
}

// goodDual is the truth about a dual unit whose circuits both hold; b has a
// little more hose behind it than a.
func goodDual() Truth {
	t := goodUnit()
	b := t.Circuit
	b.ThermalCoefficient, b.Stiffness, b.Leak = 4.1e5, 2.7e12, 0.05*barPerMinute
	t.Circuits = map[string]Circuit{"b": b}
	return t
}

// leakingB is a dual unit whose circuit b leaks at the given rate, Pa/s.
func leakingB(rate float64) Truth {
	t := goodDual()
	b := t.Circuits["b"]
	b.Leak = rate
	t.Circuits = map[string]Circuit{"b": b}
	return t
}

// changed is a good unit with something the matter.
func changed(change func(*Truth)) Truth {
	t := goodUnit()
	change(&t)
	return t
}

// CraneLot returns the demonstration's units in the order of their tests.
func CraneLot() []Unit {
	pass := Expect{verdict.Pass, true}
	fail := Expect{verdict.Fail, true}
	unclear := Expect{verdict.Inconclusive, true}
	return []Unit{
		{
			Serial: "HV1-00101", Title: "good",
			What:  "Holds; the bench's temperature hardly moves.",
			Bench: craneBench, Procedure: craneHold, Expect: pass,
			Truth: goodUnit(),
		},
		{
			Serial: "HV1-00102", Title: "gross leak",
			What:  "Leaks 2 bar/min, four times the limit.",
			Bench: craneBench, Procedure: craneHold, Expect: fail,
			Truth: changed(func(t *Truth) { t.Circuit.Leak = 2 * barPerMinute }),
		},
		{
			Serial: "HV1-00103", Title: "good, while the bench cools",
			What:  "Holds, but cools by 0.15 K/min: the raw pressure falls faster than the limit.",
			Bench: craneBench, Procedure: craneHold, Expect: pass,
			Truth: changed(func(t *Truth) { t.Temperature.Rate = -0.15 * kelvinPerMinute }),
		},
		{
			Serial: "HV1-00104", Title: "leak, while the bench warms",
			What:  "Leaks 1 bar/min, but warms by 0.2 K/min: the raw pressure hardly falls.",
			Bench: craneBench, Procedure: craneHold, Expect: fail,
			Truth: changed(func(t *Truth) {
				t.Circuit.Leak = 1 * barPerMinute
				t.Temperature.Rate = 0.2 * kelvinPerMinute
			}),
		},
		{
			Serial: "HV1-00105", Title: "hoses settle, no leak",
			What:  "No leak, but long hoses that go on giving way; the procedure limits the leak alone.",
			Bench: craneBench, Procedure: craneLeakOnly, Expect: unclear,
			Truth: changed(func(t *Truth) {
				t.Circuit.Leak = 0
				t.Circuit.Settling = []Settling{{Amplitude: 6e5, TimeConstant: 120}}
			}),
		},
		{
			Serial: "HV1-00106", Title: "feed side not vented",
			What:  "The feed side stays closed and is slowly pumped up: the compensated pressure rises.",
			Bench: craneBench, Procedure: craneHold, Expect: Expect{verdict.Inconclusive, false},
			Truth: goodUnit(), CreepingFeed: 1 * barPerMinute,
		},
		{
			Serial: "HV1-00107", Title: "temperature known too poorly",
			What:  "Loses 0.4 bar/min, within the limit, but the thermometer shows whole kelvins and drifts.",
			Bench: cranePoorBench, Procedure: craneHold, Expect: unclear,
			Truth: changed(func(t *Truth) {
				t.Circuit.Leak = 0.4 * barPerMinute
				t.Temperature.Start = 295.65 // between two of its steps
				t.Sensors.Temperature = 0.15
			}),
		},
		{
			Serial: "HV2-00201", Title: "dual, circuit b leaks",
			What:  "Two circuits held at once: a holds, b leaks 1.2 bar/min.",
			Bench: craneDualBench, Procedure: craneDualHold, Expect: fail,
			Truth: leakingB(1.2 * barPerMinute),
		},
		{
			Serial: "HV2-00202", Title: "dual, both circuits good",
			What:  "Two circuits held at once, and both hold.",
			Bench: craneDualBench, Procedure: craneDualHold, Expect: pass,
			Truth: goodDual(),
		},
		{
			Serial: "HV1-00108", Title: "good, decided early",
			What:  "Holds, far from the limit: the procedure with looks does not wait for the hold's end.",
			Bench: craneBench, Procedure: craneEarly, Expect: pass,
			Truth: goodUnit(),
		},
	}
}

// Load parses the unit's bench file, with its characterisations, and its
// procedure.
func (u Unit) Load() (*bench.Bench, *procedure.Procedure, error) {
	files := CraneFiles()
	text, err := fs.ReadFile(files, u.Bench)
	if err != nil {
		return nil, nil, err
	}
	b, err := bench.Parse(u.Bench, text)
	if err != nil {
		return nil, nil, err
	}
	if text, err = fs.ReadFile(files, b.CharacterisationPath); err != nil {
		return nil, nil, fmt.Errorf("%s: characterisation: %w", u.Bench, err)
	}
	if err := b.AttachCharacterisation(b.CharacterisationPath, text); err != nil {
		return nil, nil, err
	}
	if text, err = fs.ReadFile(files, u.Procedure); err != nil {
		return nil, nil, err
	}
	p, err := procedure.Parse(u.Procedure, text)
	return b, p, err
}

// Prepare mounts the unit on the rig.
func (u Unit) Prepare(r *Rig) { r.Mount(u.Truth) }

// OnPhase is what the operator's hands do when a phase begins.
func (u Unit) OnPhase(r *Rig, ph procedure.Phase) {
	switch ph {
	case procedure.Pressurise:
		r.Pump(u.Truth.Circuit.TestPressure, pumpTime)
	case procedure.Lock:
		r.Lock()
	case procedure.VentFeed:
		if u.CreepingFeed != 0 {
			r.LeaveFeed(u.CreepingFeed)
		} else {
			r.VentFeed()
		}
	case procedure.Release:
		r.Release()
	}
}

// Hands returns OnPhase as one hook for each phase.
func (u Unit) Hands(r *Rig) map[procedure.Phase]func() {
	out := map[procedure.Phase]func(){}
	for _, ph := range procedure.Phases {
		out[ph] = func() { u.OnPhase(r, ph) }
	}
	return out
}
