package sequence

import (
	"time"

	"holdbench/daq"
	"holdbench/daq/procedure"
)

// Input is what happened: a scan's readings, an answer, or nothing but time.
type Input struct {
	// At is the clock's time.
	At time.Duration
	// Readings are what a scan brought for the position; nil for an answer
	// or a tick.
	Readings []Reading
	// Switches are the states that a scan brought.
	Switches []SwitchState
	// Driving is what became of an output; nil but for that.
	Driving *daq.Driving
	// Answer is the operator's; nil for a scan or a tick.
	Answer *Answer
	// Look is what a look at the hold saw; nil but for that.
	Look *LookAnswer
	// RecordingFault says why the recording cannot be written; empty while it
	// can. What is not recorded cannot be judged: the test is aborted.
	RecordingFault string
}

// Answer is what the operator says.
type Answer struct {
	Kind AnswerKind
	// Text is the reason or the note.
	Text string
}

// AnswerKind is the kind of an answer, as written in events.csv.
type AnswerKind string

// What an operator can say.
const (
	GoOn           AnswerKind = "go on"
	ConfirmVented  AnswerKind = "confirm vented"
	OverrideVented AnswerKind = "override" // needs a reason
	AbortTest      AnswerKind = "abort"
	TakeNote       AnswerKind = "note"
	DriveOutputs   AnswerKind = "drive" // what the phase release drives
)

// Action is what the machine wants done: one of Record, Show, Say, Drive,
// TakeLook, HoldEnded, Close.
type Action interface{ action() }

// Record wants an event written, before anything is shown.
type Record struct{ Event daq.Event }

// Show wants a prompt shown to the operator.
type Show struct{ Prompt Prompt }

// Say wants a message shown that asks for nothing.
type Say struct{ Text string }

// TakeLook wants the growing hold looked at; a LookAnswer is to come.
type TakeLook struct{ Look }

// HoldEnded says that a hold ran its full length, or was ended by a look: judge
// now.
type HoldEnded struct{}

// Close says that the run is over and the recording may be closed.
type Close struct{ Outcome Outcome }

func (Record) action()    {}
func (Show) action()      {}
func (Say) action()       {}
func (TakeLook) action()  {}
func (HoldEnded) action() {}
func (Close) action()     {}

// Prompt is shown to the operator.
type Prompt struct {
	At    time.Duration
	Phase procedure.Phase
	Kind  PromptKind
	// Wants is the answer that the prompt waits for; empty when the phase
	// ends by itself and the prompt only tells.
	Wants AnswerKind
	Text  string
}

// PromptKind says why a prompt is shown.
type PromptKind uint8

// Why prompts are shown.
const (
	PhaseBegun   PromptKind = iota // a phase begins; once for each phase
	AskedAgain                     // what is measured does not fit: Enter again goes on anyway
	Reminder                       // the phase's time-out passed
	ReadingsLost                   // an instrument gives no valid readings; the test goes on
	VentShown                      // vented is measured: only the confirmation is missing
	VentNotShown                   // vented is not, or no longer, measured, and why
	Switched                       // what the phase release drives is being driven, at the operator's word
)

// Status is how things stand after a step.
type Status struct {
	At      time.Duration
	Phase   procedure.Phase
	Elapsed time.Duration
	// Timed is true when the phase ends by itself after Remaining.
	Timed     bool
	Remaining time.Duration
	// Until is the hold's own length while looks may end it earlier, Longest
	// how long it may become then; 0 elsewhere.
	Until, Longest time.Duration
	// Look is what the newest look at the hold said: why it goes on; empty
	// before the first and after the hold.
	Look     string
	Circuits []CircuitStatus
	Switches []SwitchStatus
	Vent     VentStatus
	Aborted  bool
}

// CircuitStatus holds the newest readings of a circuit, SI; NaN where there is
// no healthy and fresh one.
type CircuitStatus struct {
	Name                       string
	Tested                     bool
	Trapped, Feed, Temperature float64
}

// VentStatus says how far vented is shown.
type VentStatus struct {
	// State is Vented, Overridden or TreatAsPressurised.
	State string
	// Measured is true while every transducer that must show it shows the
	// circuit vented; the operator's confirmation is still needed.
	Measured bool
	// Missing says, circuit by circuit, what is missing.
	Missing []string
	// Cautions names what no measurement watches: circuits without a
	// transducer, and circuits that are not part of the test.
	Cautions []string
}
