package procedure

import (
	"strings"
	"time"

	"holdbench/daq/strict"
)

// phaseRow describes one phase that a procedure may state.
type phaseRow struct {
	phase Phase
	// operatorOnly: a person must end it, because only a person can see that
	// it is done. timeOnly: its length is the test.
	operatorOnly, timeOnly bool
	prompt                 string
}

// phaseRows is the one table of the phases from fill to release. The prompts
// are the house's own words.
var phaseRows = []phaseRow{
	{phase: Fill, prompt: "Wear eye protection. Connect {circuit} of the {model}. Fill with {fluid}, no other liquid, and bleed until no air comes. Close the bleed. Then press Enter."},
	{phase: Pressurise, prompt: "Stand clear of hoses and fittings. Raise {circuit} slowly to {pressure}. Never tighten or loosen a fitting under pressure. Then press Enter."},
	{phase: Lock, prompt: "Lock the pressure in {circuit}, then press Enter. From now on it is trapped: loosen nothing."},
	{phase: VentFeed, prompt: "Vent the feed side until its gauge shows none, and leave it open. The trapped side stays under pressure. Then press Enter."},
	{phase: Stabilise, prompt: "Waiting for temperature and hoses to settle. Touch nothing; keep draughts and sun away."},
	{phase: Hold, timeOnly: true, prompt: "Hold is running. Touch nothing."},
	{phase: Release, operatorOnly: true, prompt: "Wear eye protection. Release the trapped pressure slowly through the valve that is meant for it; never loosen a fitting under pressure. Then press Enter. Treat the unit as pressurised until vented is shown."},
}

const longestPhase = 31 * 24 * time.Hour

// steps reads [phase.…]: one step for each phase from fill to release. A
// phase that the file does not state ends with the operator's Enter, save
// stabilise, which then takes no time.
func steps(t *strict.Table, words *strings.Replacer) []Step {
	if t == nil {
		return nil
	}
	var out []Step
	for _, row := range phaseRows {
		key := t.Optional(row.key())
		if row.timeOnly {
			key = t.Required(row.key())
		}
		row.prompt = words.Replace(row.prompt)
		out = append(out, step(row, key.Table()))
	}
	return out
}

// words fills the places in the prompts with what this procedure says;
// pressure is the test pressure as written.
func (p *Procedure) words(pressure string) *strings.Replacer {
	circuit := "circuit " + strings.Join(p.Circuits, "")
	if len(p.Circuits) > 1 {
		circuit = "circuits " + strings.Join(p.Circuits, " and ")
	}
	return strings.NewReplacer("{circuit}", circuit, "{fluid}", p.Fluid, "{pressure}", pressure, "{model}", p.Model)
}

// key is the phase's name as a key: "vent feed" is [phase.vent_feed].
func (r phaseRow) key() string { return strings.ReplaceAll(string(r.phase), " ", "_") }

func step(row phaseRow, t *strict.Table) Step {
	s := Step{Phase: row.phase, Prompt: row.prompt, ByOperator: row.phase != Stabilise && !row.timeOnly}
	if t == nil {
		return s
	}
	end, duration, timeout := t.Optional("end"), t.Optional("duration"), t.Optional("timeout")
	extend := t.Optional("extend_to")
	if !row.timeOnly {
		extend.Refuse("only a hold goes on by itself")
	}
	if k := t.Optional("prompt"); k.Given() {
		s.Prompt = k.Text()
	}
	switch {
	case row.timeOnly:
		end.Refuse("a hold has a duration")
		duration = t.Required("duration")
		s.Duration = duration.Duration(time.Second, longestPhase)
		s.ExtendTo = extendTo(extend, s.Duration)
	case row.operatorOnly:
		duration.Refuse("only a person can say that the pressure is released")
		s.ByOperator = t.Required("end").OneOf("operator") != ""
	case end.Given():
		duration.Refuse("the phase ends with the operator's Enter")
		s.ByOperator = end.OneOf("operator") != ""
	case duration.Given():
		s.ByOperator = false
		s.Duration = duration.Duration(0, longestPhase)
	default:
		t.Fault("no end", `end = "operator" or a duration, e.g. duration = "60 s"`)
	}
	if s.ByOperator {
		s.Timeout = timeout.Duration(time.Second, longestPhase)
	} else {
		timeout.Refuse(`only beside end = "operator"`)
	}
	s.Drive = drives(t.Optional("drive"), row, s)
	return s
}
