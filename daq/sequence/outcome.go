package sequence

import (
	"strings"

	"holdbench/daq"
)

// How a run ends for whoever stands before the unit.
const (
	// Vented: measured below the safe pressure by a transducer that followed
	// the pressure in this very test, and confirmed by the operator.
	Vented = "vented"
	// Overridden: not shown by measurement; the operator gave a reason.
	Overridden = "overridden"
	// TreatAsPressurised: neither. It is also the state of every run that is
	// not over.
	TreatAsPressurised = "treat as pressurised"
)

// Outcome says how a run ended.
type Outcome struct {
	// Completed is true when the hold ran its full length.
	Completed bool
	// Vented is Vented, Overridden or TreatAsPressurised; Reason says why,
	// with the cautions that belong to it.
	Vented, Reason string
	// Aborted is true when the test was aborted before the hold had ended;
	// Cause says by what.
	Aborted bool
	Cause   string
}

// OutcomeOf reads the outcome of a run back from its events, in the order in
// which they were recorded. A recording that was cut short is "treat as
// pressurised".
func OutcomeOf(events []daq.Event) Outcome {
	out := Outcome{Vented: TreatAsPressurised, Reason: cutShort}
	for _, e := range events {
		switch e.Kind {
		case daq.Abort:
			if !out.Aborted {
				out.Aborted, out.Cause = true, cause(e.Subject, e.Text)
			}
		case daq.Vented:
			out.Vented, out.Reason = Vented, e.Text
		case daq.Override:
			out.Vented, out.Reason = Overridden, e.Text
		case daq.Note:
			if e.Subject == TreatAsPressurised {
				out.Reason = e.Text
			}
		}
	}
	windows := Windows(events)
	out.Completed = len(windows) > 0
	for _, w := range windows {
		out.Completed = out.Completed && w.Completed
	}
	return out
}

// cause joins who aborted and why.
func cause(who, why string) string {
	return strings.TrimSuffix(who+": "+why, ": ")
}
