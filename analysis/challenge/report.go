package challenge

import (
	"math"
	"strings"
)

// Form says how a bench was evaluated, for every place that shows it.
const Form = "evaluated after the statistical form of EPA/530/UST-90/004"

// Trial is one run with a known leak.
type Trial struct {
	// Expected is own and imposed leak together; NaN where not known, as
	// Measured may be.
	Expected, Measured float64
	Outcome            Outcome
	// Alarm: the limit alone would have failed the unit; Cleared: passed it.
	Alarm, Cleared bool
}

// Report is what the challenges of one bench, quantity and limit say together.
type Report struct {
	Trials           int
	Threshold, Limit float64
	// Evaluation of the differences of the trials that measured something;
	// EvaluationNo says why there is none.
	Evaluation   *Evaluation
	EvaluationNo string
	// Passed of all whose outcome is known; FalseAlarms of those whose leak
	// was below the limit; Detections, and Missed (passed by the limit), of
	// those above it.
	Passed, FalseAlarms, Detections, Missed Proportion
	// Undecided by the limit, of those below and above it.
	Undecided Proportion
	Unknown   int
}

// ReportOf collects trials. A threshold or limit that is no number is a reason
// for no evaluation.
func ReportOf(trials []Trial, threshold, limit float64) Report {
	r := Report{Trials: len(trials), Threshold: threshold, Limit: limit}
	var differences []float64
	var passed, known, tight, alarms, leaking, detected, missed, undecided int
	for _, t := range trials {
		if t.Outcome == Unknown {
			r.Unknown++
			continue
		}
		known++
		if t.Outcome == Passed {
			passed++
		}
		if d := t.Measured - t.Expected; !math.IsNaN(d) {
			differences = append(differences, d)
		}
		switch {
		case t.Expected < limit:
			tight++
			if t.Alarm {
				alarms++
			}
		case t.Expected > limit:
			leaking++
			if t.Alarm {
				detected++
			}
			if t.Cleared {
				missed++
			}
		default:
			continue
		}
		if !t.Alarm && !t.Cleared {
			undecided++
		}
	}
	r.Passed = ProportionOf(passed, known)
	r.FalseAlarms, r.Detections, r.Missed = ProportionOf(alarms, tight), ProportionOf(detected, leaking), ProportionOf(missed, leaking)
	r.Undecided = ProportionOf(undecided, tight+leaking)
	e, err := Evaluate(differences, threshold, limit)
	if err != nil {
		r.EvaluationNo = strings.TrimPrefix(err.Error(), "challenge: ")
		return r
	}
	r.Evaluation = &e
	return r
}
