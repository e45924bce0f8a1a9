// Package procedure knows the test as written: model, fluid, pressures,
// phases, limits. It reads it from TOML and knows nothing of instruments.
package procedure

import (
	"time"

	"holdbench/analysis/verdict"
)

// Phase is a phase's name as written in files and shown on screens.
type Phase string

// The phases of a hold test, in their order.
const (
	Fill       Phase = "fill"
	Pressurise Phase = "pressurise"
	Lock       Phase = "lock"
	VentFeed   Phase = "vent feed"
	Stabilise  Phase = "stabilise"
	Hold       Phase = "hold"
	Release    Phase = "release"
	Vented     Phase = "vented"
)

// ZeroCheck comes before all others where the procedure asks for it.
const ZeroCheck Phase = "zero check"

// Phases is the order of the phases.
var Phases = []Phase{Fill, Pressurise, Lock, VentFeed, Stabilise, Hold, Release, Vented}

// Procedure is a procedure file as read; every number SI.
type Procedure struct {
	Path, Text, Hash string // Hash is "sha256:…" of Text
	Name, Revision   string
	// Model is the model of unit that this procedure is for.
	Model string
	// SerialPattern is a regular expression that a serial number must match
	// as a whole; empty: anything.
	SerialPattern string
	// Fluid is in words, e.g. "mineral hydraulic oil ISO VG 32".
	Fluid    string
	Circuits []string // "a", or "a", "b"

	TestPressure float64 // Pa
	// StartLow and StartHigh are the window for the pressure at t0, Pa.
	StartLow, StartHigh float64
	MaxPressure         float64 // Pa, abort above
	SafePressure        float64 // Pa, below which vented is measured
	FeedBelow           float64 // Pa, feed side counts as vented below

	// Steps has one entry for each phase from fill to release, in order.
	Steps []Step
	// Looks, where the hold may be decided before its end or go on past it;
	// else nil.
	Looks  *Looks
	Limits []verdict.Limit
	// Unresolvable is "warn" or "refuse": what to do when the test cannot
	// decide a limit.
	Unresolvable string
	// TemperatureSwing is by how much the liquid's temperature is expected to
	// change over the hold, K; 0 where it is not stated.
	TemperatureSwing float64
	// ChallengeEvery is within how long before a test the bench must have
	// passed a challenge with a known leak; 0: never asked for. Unchallenged is
	// then "warn" or "refuse".
	ChallengeEvery time.Duration
	Unchallenged   string
	// LostAfter is how long a tested circuit may be without a valid reading
	// before the test is aborted; 0: it goes on, and whether enough was read is
	// for the judgement.
	LostAfter time.Duration
	// Zero asks for the transducers' zeros to be read before anything is
	// pressurised, and again once the unit is vented; nil: not asked for.
	Zero   *ZeroRule
	Source string
}

// ZeroRule says how the zeros of a circuit's pressure transducers are checked.
type ZeroRule struct {
	// Tolerance is how far from zero a vented transducer may read, Pa.
	Tolerance float64
	// Duration is over how long it is read.
	Duration time.Duration
}

// Step is one phase: it ends after Duration, or when the operator says so.
type Step struct {
	Phase Phase
	// ByOperator: the phase ends with the operator's Enter; otherwise after
	// Duration.
	ByOperator bool
	Duration   time.Duration
	// ExtendTo is how long a hold may become by itself while nothing is
	// decided; 0: it ends after Duration.
	ExtendTo time.Duration
	// Timeout prompts the operator again; 0: never.
	Timeout time.Duration
	// Prompt is shown to the operator; each phase has a default.
	Prompt string
	// Drive is what is switched when the phase begins.
	Drive []Drive
}

// Step returns the step of that phase and whether the procedure has one.
func (p *Procedure) Step(ph Phase) (Step, bool) {
	for _, s := range p.Steps {
		if s.Phase == ph {
			return s, true
		}
	}
	return Step{}, false
}

// HoldTime is the hold's own length.
func (p *Procedure) HoldTime() (time.Duration, bool) {
	s, ok := p.Step(Hold)
	return s.Duration, ok
}
