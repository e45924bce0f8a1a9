package result

import (
	"fmt"
	"strings"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
	"holdbench/daq/sequence"
)

// Looked is what a look at a growing hold said.
type Looked struct {
	Verdict verdict.Verdict
	// End is true where the hold is decided, or more of it settles nothing.
	End bool
	// Text says in words what was decided and by which boundary, or why the
	// hold goes on.
	Text string
	// Said is the same for the operator, without boundaries.
	Said string
}

// Watch looks at the holds of one run as they grow, and keeps what earlier
// looks saw: each costs one judgement of a circuit. The zero value has seen
// nothing. One look at a time.
type Watch struct{ circuits map[string]*analysis.Watch }

// Look judges a recording that still grows at the newest look among its
// events, by what Assess will judge it by later, with no reading that came
// after the look. The errors are those of Read, and that there is no look.
func (w *Watch) Look(rec *record.Recording) (Looked, error) {
	run, err := Read(rec)
	if err != nil {
		return Looked{}, err
	}
	var assessments []analysis.Assessment
	for _, h := range run.Holds() {
		if h.Looks = run.looks(h.Start); h.Looks == nil {
			return Looked{}, fmt.Errorf("%s: no look was taken at the hold of circuit %s", rec.Dir, h.Circuit)
		}
		assessments = append(assessments, w.of(h.Circuit).Assess(h))
	}
	if grave := damage(rec.Findings); len(grave) > 0 {
		return Looked{Text: "goes on: " + grave[0]}, nil
	}
	return together(assessments), nil
}

// of is the watch of a circuit.
func (w *Watch) of(circuit string) *analysis.Watch {
	if w.circuits == nil {
		w.circuits = map[string]*analysis.Watch{}
	}
	if w.circuits[circuit] == nil {
		w.circuits[circuit] = new(analysis.Watch)
	}
	return w.circuits[circuit]
}

// together joins the circuits' looks: a FAIL of one ends the hold, as does a
// PASS of all; from the hold's own end on, the hold goes on only while that
// may settle something.
func together(all []analysis.Assessment) Looked {
	var verdicts []verdict.Verdict
	ended, goOn := true, false
	var why, said []string
	at, after := "", ""
	for _, a := range all {
		verdicts = append(verdicts, a.Verdict)
		if a.Early == nil {
			continue
		}
		ended = ended && a.Early.Time >= a.Early.Hold
		goOn = goOn || a.Early.GoOn
		plain, full := lookWords(a, len(all))
		why, said = append(why, full), appendText(said, plain)
		look := a.Early.Looks[len(a.Early.Looks)-1]
		at = fmt.Sprintf("look %d of %d", look.Number, look.Planned)
		after = ", after " + analysis.Lasting(look.Time)
	}
	out := Looked{Verdict: verdict.Overall(verdicts...)}
	switch {
	case len(all) == 0:
		out.Text = "goes on: nothing to judge"
		return out
	case out.Verdict != verdict.Inconclusive:
		out.End, out.Text = true, "decided: "+out.Verdict.String()
		out.Said = "Decided at " + at + after + ": " + out.Verdict.String() + "."
	case ended && !goOn:
		out.End, out.Text = true, "ends undecided"
		out.Said = "Ends undecided at " + at + after + ": " + strings.Join(said, "; ")
	default:
		out.Text = "goes on"
		out.Said = "Look " + strings.TrimPrefix(at, "look ") + ": goes on: " + strings.Join(said, "; ")
	}
	out.Text += ": " + strings.Join(why, "; ")
	return out
}

// appendText appends a text that is not empty.
func appendText(all []string, text string) []string {
	if text == "" {
		return all
	}
	return append(all, text)
}

// lookWords is what the newest look said of one circuit, for the operator and
// in full.
func lookWords(a analysis.Assessment, circuits int) (plain, full string) {
	look := a.Early.Looks[len(a.Early.Looks)-1]
	text := ""
	switch {
	case !look.Judged:
		text = "not judged (" + look.Why + ")"
		if a.Verdict == verdict.Fail {
			text = a.Reasons[0]
		}
	case a.Verdict == verdict.Inconclusive && a.Early.Why != "":
		text = a.Early.Why
	}
	var limits []string
	for i, l := range look.Limits {
		limits = append(limits, limitWords(l, a.Decisions[i]))
	}
	full = text
	if len(limits) > 0 {
		full = strings.TrimPrefix(text+" ["+strings.Join(limits, ", ")+"]", " ")
	}
	if text == "" {
		text = a.Verdict.String()
	}
	return named(a.Circuit, text, circuits), named(a.Circuit, full, circuits)
}

// limitWords is "decay_rate PASS, boundary 2.34 at 4.2 % of the information".
func limitWords(l analysis.LimitLook, d verdict.Decision) string {
	text := l.Quantity + " " + l.Verdict.String()
	boundary := l.Pass
	if d.Verdict == verdict.Fail {
		boundary = l.Fail
	}
	if number(l.Information) != nil {
		text += fmt.Sprintf(", boundary %s at %s %% of the information", si.Format(boundary, 3), si.Format(100*l.Information, 2))
	}
	return text
}

// PlannedLooks are those of a procedure, none of them taken yet; nil where it
// has none.
func PlannedLooks(p *procedure.Procedure) *analysis.Looks {
	hold, ok := p.HoldTime()
	if p.Looks == nil || !ok {
		return nil
	}
	out := &analysis.Looks{Hold: hold.Seconds(), Spending: p.Looks.Spending}
	for _, at := range p.Looks.Times {
		out.Plan = append(out.Plan, at.Seconds())
	}
	return out
}

// looks are those planned and taken at a hold that began at start; nil where
// none was.
func (r *Run) looks(start float64) *analysis.Looks {
	out := PlannedLooks(r.Procedure)
	if out == nil {
		return nil
	}
	for _, l := range sequence.Looks(r.Recording.Events) {
		if at := l.At.Seconds(); at > start && l.Number <= len(out.Plan) {
			out.Taken = append(out.Taken, analysis.TakenLook{Number: l.Number, At: at})
		}
	}
	if len(out.Taken) == 0 {
		return nil
	}
	return out
}

// Early says how a hold was looked at and where it ended. Times in s since t0.
type Early struct {
	// Planned is the number of looks; Hold and Longest are the hold's own
	// length and the longest that it could have become.
	Planned  int     `json:"planned"`
	Hold     float64 `json:"hold"`
	Longest  float64 `json:"longest"`
	Spending string  `json:"spending"`
	// Stopped: it ended before its own end. Extended: after it.
	Stopped  bool        `json:"stopped"`
	Extended bool        `json:"extended"`
	Text     string      `json:"text"`
	Looks    []EarlyLook `json:"looks"`
}

// EarlyLook is one look at a hold. Reason says why it was not judged.
type EarlyLook struct {
	Number  int          `json:"number"`
	Time    float64      `json:"time"`
	Judged  bool         `json:"judged"`
	Reason  string       `json:"reason,omitempty"`
	Verdict string       `json:"verdict"`
	Limits  []EarlyLimit `json:"limits"`
}

// EarlyLimit is one limit at one look: the share of the longest hold's
// information that was gathered, and the boundaries in standard
// uncertainties; null where the limit is not decided that way.
type EarlyLimit struct {
	Quantity     string   `json:"quantity"`
	Information  *float64 `json:"information"`
	PassBoundary *float64 `json:"pass_boundary"`
	FailBoundary *float64 `json:"fail_boundary"`
	Verdict      string   `json:"verdict"`
}

func early(e *analysis.Early) *Early {
	if e == nil {
		return nil
	}
	out := &Early{
		Planned: e.Planned, Hold: e.Hold, Longest: e.Longest, Spending: e.Spending.String(),
		Stopped: e.Stopped, Extended: e.Extended, Text: e.Text,
	}
	for _, l := range e.Looks {
		look := EarlyLook{Number: l.Number, Time: l.Time, Judged: l.Judged, Reason: l.Why, Verdict: l.Verdict.String(), Limits: []EarlyLimit{}}
		for _, x := range l.Limits {
			look.Limits = append(look.Limits, EarlyLimit{
				Quantity: x.Quantity, Information: number(x.Information),
				PassBoundary: number(x.Pass), FailBoundary: number(x.Fail), Verdict: x.Verdict.String(),
			})
		}
		out.Looks = append(out.Looks, look)
	}
	return out
}
