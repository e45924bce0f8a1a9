// Package analysis is the front door of judgement: a hold goes in, an
// Assessment comes out. It knows nothing of serial ports, files, databases,
// clocks or pages, starts no goroutines and gives the same answer for the
// same numbers.
package analysis

import (
	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/verdict"
)

// Hold is one circuit's hold as recorded, with all that is needed to judge
// it. Times in s since the start of the recording, pressures gauge in Pa,
// temperatures in K.
type Hold struct {
	// Circuit is "a" or "b".
	Circuit string
	// Start and End are t0 and t1 of the hold. End is where the hold ended,
	// planned or not.
	Start, End float64
	// Completed is true when the hold ran its full length.
	Completed bool
	// Locked is the instant at which the circuit was locked, NaN if unknown.
	Locked float64

	// Trapped is the trapped side's pressure over the whole recording.
	Trapped series.Column
	// TrappedInterval is the nominal time between its readings, s.
	TrappedInterval float64
	// Feed is the feed side's pressure; an empty column when it is not
	// measured.
	Feed series.Column
	// FeedDeclaredUnmeasured is true when the bench says that there is no
	// feed transducer, so that the gate does not ask for one.
	FeedDeclaredUnmeasured bool
	// Other is the circuit that is vented and closed meanwhile; nil for none.
	Other *Other
	// Temperature is the probe that stands for the liquid, over the whole
	// recording; empty when there is none.
	Temperature series.Column
	// TemperatureInterval is the nominal time between its readings, s.
	TemperatureInterval float64
	// MoreProbes stand for the liquid beside Temperature, each for the same
	// share of it.
	MoreProbes []decay.Probe

	// Ambient is the temperature of the transducer's surroundings; empty where
	// it is not measured.
	Ambient series.Column
	// Zeros are the trapped transducer's readings while vented, before and
	// after the hold; nil when there are none.
	Zeros *decay.Zeros
	// Segments are the parts of a hold that was interrupted by re-pumping or
	// gaps; none: they are found in the pressure.
	Segments []decay.Segment
	// Stepped is a step up of the pressure, just before the hold, from the level
	// at which the unit was held already; nil for none.
	Stepped *decay.Jump

	// Trapped and temperature transducers as far as they enter the budget.
	Transducer  Transducer
	Thermometer Thermometer

	// StartLow and StartHigh are the window for the start pressure, Pa; NaN
	// when the procedure states none ("not checked").
	StartLow, StartHigh float64
	// FeedBelow is the threshold under which the feed side counts as vented,
	// Pa; NaN when none is stated ("not checked").
	FeedBelow float64
	// TestPressure is the nominal pressure, Pa; NaN if unknown.
	TestPressure float64
	// Sink is what a leak goes to; the zero value is the vented feed side at
	// 0 Pa gauge.
	Sink decay.Sink

	// Characterised holds what is known of this bench, model and circuit.
	Characterised decay.Characterised
	Limits        []verdict.Limit

	// Looks, where the hold may be decided before its end or go on past it;
	// else nil.
	Looks *Looks

	// ExactTemperature takes the temperatures as given: see decay.Options.
	ExactTemperature bool
}

// Transducer is a pressure transducer as it enters the budget.
type Transducer = decay.Transducer

// Thermometer is a temperature channel as it enters the budget.
type Thermometer = decay.Thermometer

// Quantity is an estimate, or the reason why there is none.
type Quantity = decay.Quantity

// Assessment is what can be said of one hold.
type Assessment struct {
	Circuit string
	Verdict verdict.Verdict
	// Valid is false when the hold may not be judged at all; Completed as in
	// the Hold.
	Valid, Completed bool
	// Reasons say in plain words why the verdict is what it is, gravest
	// first; never empty when the verdict is not PASS.
	Reasons []string
	// Advice says what would settle an INCONCLUSIVE verdict.
	Advice []string
	// Start and End of the window that was judged, s.
	Start, End float64
	// Estimates by the names of verdict.Quantities; every name is there.
	Estimates map[string]Quantity
	// Decisions, one for each limit, in the order of the limits.
	Decisions []verdict.Decision
	// Curves for figures, over the hold: what was measured, what remains
	// after temperature, what was fitted.
	Curves decay.Curves
	// Diagnostics of the fit.
	Diagnostics decay.Diagnostics
	// InvalidReadings and InvalidTemperatures count the places of the two
	// columns in the window at which no valid reading came.
	InvalidReadings, InvalidTemperatures int
	// Early says how the hold was looked at; nil where it was not.
	Early *Early
}
