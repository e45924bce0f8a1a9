// Package result knows the way from a recording to its result (the one call
// that run, demo and re-assessment share), and result.json with its schema.
package result

import (
	"encoding/json"
	"math"
	"time"

	"holdbench/analysis/uncertainty"
)

// Format and Version stand at the top of every result.json.
const (
	Format  = "holdbench-result"
	Version = 1
)

// Result is result.json. Numbers are SI whatever the display; a number that
// is not known is null.
type Result struct {
	Format    string   `json:"format"`
	Version   int      `json:"version"`
	Verdict   string   `json:"verdict"`
	Completed bool     `json:"completed"`
	Reasons   []string `json:"reasons"`
	Advice    []string `json:"advice"`

	SerialNumber string `json:"serial_number"`
	Model        string `json:"model"`
	RunID        string `json:"run_id"`
	Operator     string `json:"operator"`
	Position     string `json:"position"`
	Fluid        string `json:"fluid"`
	// Started is the instant of the recording's time 0; Ended that of its
	// last reading. Absent where a file has no calendar stamps.
	Started time.Time `json:"started,omitzero"`
	Ended   time.Time `json:"ended,omitzero"`
	Note    string    `json:"note,omitempty"`
	// Notes say what was found and assumed on reading another logger's file.
	Notes []string `json:"notes,omitempty"`

	Bench            Source `json:"bench"`
	Procedure        Source `json:"procedure"`
	Characterisation Source `json:"characterisation"`
	// Fluids is the bench's file of own liquids; absent where it has none.
	Fluids Source `json:"fluids,omitzero"`

	// Challenge is there for a run with a known leak, which judges the bench
	// and never gives the unit a PASS.
	Challenge *Challenge `json:"challenge,omitempty"`

	// OverdueOverride is there where the run was made with overdue calibrations.
	OverdueOverride *OverdueOverride `json:"overdue_override,omitempty"`
	// ZeroChecks are the transducers' zeros while vented, in the order in which
	// they were read; absent where the procedure does not ask for them.
	ZeroChecks []ZeroCheck `json:"zero_checks,omitempty"`

	// Calibration is there where readings were converted again with other
	// certificates than those of the run.
	Calibration *AppliedCalibration `json:"calibration,omitempty"`

	Circuits    []Circuit    `json:"circuits"`
	Instruments []Instrument `json:"instruments"`
	Vented      Vented       `json:"vented"`

	// Recording says what this was computed from.
	Recording Recording `json:"recording"`
	// Assessment is the only part that differs between two assessments of
	// the same recording by the same program.
	Assessment AssessmentInfo `json:"assessment"`
}

// Source names a file that the run used.
type Source struct {
	Name string `json:"name"`
	Hash string `json:"hash"`
}

// Circuit is one circuit of the unit.
type Circuit struct {
	Name    string `json:"name"`
	Verdict string `json:"verdict"`
	Tests   []Test `json:"tests"`
}

// Test is one test of a circuit.
type Test struct {
	Kind string `json:"kind"` // "hold"
	// Window is t0 and t1 in s; both null when no hold began.
	Window      [2]*float64         `json:"window"`
	Valid       bool                `json:"valid"`
	Completed   bool                `json:"completed"`
	Verdict     string              `json:"verdict"`
	Reasons     []string            `json:"reasons"`
	Advice      []string            `json:"advice"`
	Estimates   map[string]Estimate `json:"estimates"`
	Limits      []Limit             `json:"limits"`
	Diagnostics Diagnostics         `json:"diagnostics"`
	// Found says how the window came about where no events tell it.
	Found *Found `json:"found,omitempty"`
	// Early says how the hold was looked at, where it could end early or go
	// on by itself.
	Early *Early `json:"early,omitempty"`
}

// Found says how the window of a hold came about: Method "found" (in the
// pressure itself), "whole" (a record without press-up) or "given".
type Found struct {
	Method string   `json:"method"`
	How    string   `json:"how"`
	Notes  []string `json:"notes"`
}

// Estimate is {value, unit, u, dof, low, high} with its budget, or
// {value: null, reason}. Low and High are the 95 % interval; DOF null is
// infinite; an open end is null.
type Estimate struct {
	Value  *float64     `json:"value"`
	Unit   string       `json:"unit"`
	U      *float64     `json:"u"`
	DOF    *float64     `json:"dof"`
	Low    *float64     `json:"low"`
	High   *float64     `json:"high"`
	Budget []BudgetLine `json:"budget,omitempty"`
	Reason string       `json:"reason,omitempty"`
	// Widened is the factor on the interval's half width that allows for
	// looks taken at the hold; absent for 1.
	Widened float64 `json:"widened,omitempty"`
}

// Expanded returns half the 95 % interval of a value with its uncertainty, in
// Unit: U times Student's quantile, widened where looks were taken; NaN
// without.
func (e Estimate) Expanded() float64 {
	if e.U == nil {
		return math.NaN()
	}
	exact := uncertainty.Estimate{StdUncertainty: *e.U, DegreesOfFreedom: math.Inf(1)}
	if e.DOF != nil {
		exact.DegreesOfFreedom = *e.DOF
	}
	return exact.Expanded(0.95) * max(e.Widened, 1)
}

// MarshalJSON writes one of the two shapes: without a value there is nothing
// but the unit and the reason.
func (e Estimate) MarshalJSON() ([]byte, error) {
	if e.Value == nil {
		return json.Marshal(struct {
			Value  *float64 `json:"value"`
			Unit   string   `json:"unit"`
			Reason string   `json:"reason"`
		}{nil, e.Unit, e.Reason})
	}
	type plain Estimate // without this method
	return json.Marshal(plain(e))
}

// BudgetLine is one line of an uncertainty budget; U in the estimate's unit,
// DOF null when infinite.
type BudgetLine struct {
	Source string   `json:"source"`
	U      float64  `json:"u"`
	DOF    *float64 `json:"dof"`
	Note   string   `json:"note"`
}

// Limit is one limit and what became of it. Value and DecidedBy in Unit.
type Limit struct {
	Quantity  string   `json:"quantity"`
	Bound     string   `json:"bound"`
	Value     float64  `json:"value"`
	Unit      string   `json:"unit"`
	Rule      string   `json:"rule"`
	RiskPass  float64  `json:"risk_pass"`
	RiskFail  float64  `json:"risk_fail"`
	After     *float64 `json:"after,omitempty"`
	UMax      *float64 `json:"u_max,omitempty"`
	Source    string   `json:"source,omitempty"`
	Written   string   `json:"written"`
	DecidedBy *float64 `json:"decided_by"`
	Verdict   string   `json:"verdict"`
	Reason    string   `json:"reason,omitempty"`
}

// Diagnostics of a fit; see decay.Diagnostics. Null where not computed.
type Diagnostics struct {
	// Law is the decay law behind the estimates, "line", "exponential" or
	// "orifice", "" where nothing was fitted; LawReason says in words why it was
	// taken.
	Law       string `json:"law,omitempty"`
	LawReason string `json:"law_reason,omitempty"`
	// The criterion by which it was chosen: the smaller, the better.
	AICcLine        *float64 `json:"aicc_line"`
	AICcExponential *float64 `json:"aicc_exponential"`

	Readings          int      `json:"readings"`
	ValidShare        *float64 `json:"valid_share"`
	Noise             *float64 `json:"noise"`
	Autocorrelation   *float64 `json:"autocorrelation"`
	Inflation         *float64 `json:"inflation"`
	EffectiveReadings *float64 `json:"effective_readings"`
	CurvatureT        *float64 `json:"curvature_t"`
	CurvatureDOF      *float64 `json:"curvature_dof"`
	StillSettling     bool     `json:"still_settling"`
	BlockMeanRate     *float64 `json:"block_mean_rate"`
	BlockMeanRateU    *float64 `json:"block_mean_rate_u"`
	TemperatureChange *float64 `json:"temperature_change"`
	TemperatureU      *float64 `json:"temperature_change_u"`
	RawRate           *float64 `json:"raw_rate"`
	// TimeTemperature is the correlation of time and temperature, VIF
	// 1/(1 − r²); CoefficientLearned and CoefficientSource say where the
	// thermal coefficient comes from. Absent without a temperature.
	TimeTemperature    *float64 `json:"time_temperature_correlation,omitempty"`
	VIF                *float64 `json:"vif,omitempty"`
	CoefficientLearned bool     `json:"coefficient_learned,omitempty"`
	CoefficientSource  string   `json:"coefficient_source,omitempty"`
	// Course says whether the hold was the same from beginning to end; absent
	// where nothing was fitted.
	Course *Course `json:"course,omitempty"`
}

// Instrument is one channel as it was wired and calibrated on the day.
type Instrument struct {
	Channel     string `json:"channel"`
	Instrument  string `json:"instrument"`
	Circuit     string `json:"circuit,omitempty"`
	Role        string `json:"role,omitempty"` // trapped, feed, temperature, ambient, warning switch, pump state, cold junction, excitation
	Range       string `json:"range,omitempty"`
	Certificate string `json:"certificate,omitempty"`
	Calibrated  string `json:"calibrated,omitempty"` // YYYY-MM-DD
	Due         string `json:"due,omitempty"`        // YYYY-MM-DD
	// Overdue is true when the run began after Due.
	Overdue bool `json:"overdue"`
}

// Vented says how the vent watch ended.
type Vented struct {
	// State is "vented" (measured and confirmed), "overridden" or "treat as
	// pressurised".
	State  string `json:"state"`
	Reason string `json:"reason,omitempty"`
}

// Recording is what the result was computed from.
type Recording struct {
	State    string            `json:"state"`  // "closed", "open", StateFile
	Hashes   map[string]string `json:"hashes"` // file name → "sha256:…"
	Findings []string          `json:"findings"`
	Program  string            `json:"program"` // that recorded
	// Timing says of each instrument how punctually it was scanned; absent
	// where the recording does not say.
	Timing []string `json:"timing,omitempty"`
	// Troubles say of each channel and instrument what was wrong with it, for
	// how long and when; absent where nothing was.
	Troubles []string `json:"troubles,omitempty"`
}

// AssessmentInfo says which assessment this is.
type AssessmentInfo struct {
	Number  int       `json:"number"`
	At      time.Time `json:"at"`
	Program string    `json:"program"`
}
