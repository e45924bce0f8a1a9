package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
	"holdbench/daq/sequence"
	"holdbench/report/result"
)

// unitTest is one test of one unit: what `run` and `demo` share. The scanner
// is running already.
type unitTest struct {
	bench     *bench.Bench
	procedure *procedure.Procedure
	position  bench.Position
	channels  []daq.Channel
	scanner   *daq.Scanner
	clock     daq.Clock
	// joined is true when the calling goroutine has joined the clock.
	joined bool

	serial, operator, runID, note string
	folder                        string // where recordings go
	shown                         style
	panel                         sequence.Panel
	// challenge is the known leak imposed; nil for a test of the unit.
	challenge *record.Challenge
	// overdue is why the test is made with an overdue calibration; nil where
	// none is.
	overdue *record.Overdue
	// started, if not nil, is given the loop before it runs, for answers.
	started func(*sequence.Loop)
}

// do runs the test and leaves recording, result and pages. The folder is
// returned as soon as there is one, even with an error.
func (t *unitTest) do(ctx context.Context) (folder string, j judged, err error) {
	began := t.clock.Date(0)
	folder = filepath.Join(t.folder, record.FolderName(t.serial, began, t.runID))
	w, err := record.Create(folder, t.meta(began))
	if err != nil {
		return "", judged{}, unwritable("--out", t.folder, err)
	}
	if err := errors.Join(t.noteChallenge(w), t.noteOverdue(w)); err != nil {
		return folder, judged{}, fault(errors.Join(err, w.Close()))
	}
	var watch result.Watch
	config := sequence.Config{
		Procedure: t.procedure, Position: t.position, Channels: t.channels, Scanner: t.scanner, Clock: t.clock,
		Joined: t.joined, Log: w, Flush: w.Flush, Panel: t.panel, Display: t.shown.Display,
		OnHoldEnd: func() string { return t.atHoldEnd(w) },
		OnLook:    func(sequence.Look) sequence.LookAnswer { return atLook(w, &watch) },
	}
	if t.challenge != nil {
		config.OnLook = nil // a bench is challenged over the whole hold
	}
	if t.bench.DrivesOutputs {
		config.Outputs, config.Driven = t.scanner, t.bench.Driven(t.position.Name)
	}
	loop := sequence.New(config)
	if t.started != nil {
		t.started(loop)
	}
	_, runErr := loop.Run(ctx)
	if err := errors.Join(runErr, t.noteTiming(w), w.Close()); err != nil {
		return folder, judged{}, fault(fmt.Errorf("%s: %w; treat the unit as pressurised", folder, err))
	}
	j, err = judgeFolder(folder, t.shown, firstAssessment, record.SourceFile{})
	return folder, j, err
}

func (t *unitTest) meta(began time.Time) record.Meta {
	return record.Meta{
		RunID: t.runID, SerialNumber: t.serial, Model: t.procedure.Model, Operator: t.operator,
		Position: t.position.Name, Started: began, ClockKind: t.clock.Kind(), Program: program, Note: t.note,
		Bench:            record.SourceFile{Name: filepath.Base(t.bench.Path), Hash: t.bench.Hash, Text: t.bench.Text},
		Procedure:        record.SourceFile{Name: filepath.Base(t.procedure.Path), Hash: t.procedure.Hash, Text: t.procedure.Text},
		Characterisation: record.SourceFile{Name: t.bench.CharacterisationPath, Hash: t.bench.CharacterisationHash, Text: t.bench.CharacterisationText},
		Fluids:           record.SourceFile{Name: t.bench.FluidsPath, Hash: t.bench.FluidsHash, Text: t.bench.FluidsText},
		Channels:         t.channels,
		Challenge:        t.challenge,
		Overdue:          t.overdue,
	}
}

// noteChallenge writes down among the events that a leak is imposed.
func (t *unitTest) noteChallenge(w *record.Writer) error {
	c := t.challenge
	if c == nil {
		return nil
	}
	return w.Event(daq.Event{Kind: daq.Note, Circuit: c.Circuit, Subject: "challenge",
		Text: fmt.Sprintf("challenge %s: known leak %s on top of the unit's own %s", c.Code, c.Known.Written, c.Own.Written)})
}

// noteTiming writes down how punctually the instruments were scanned; of a clock
// in lock-step there is nothing to say.
func (t *unitTest) noteTiming(w *record.Writer) (err error) {
	if t.clock.Kind() != daq.NewWallClock().Kind() {
		return nil
	}
	at := t.clock.Now()
	for _, x := range t.scanner.Timing() {
		err = errors.Join(err, w.Event(daq.Event{At: at, Until: at, Kind: daq.Note, Subject: daq.TimingOf + x.Instrument, Text: x.String()}))
	}
	return err
}

// atHoldEnd judges the recording as it stands on the disk and returns the
// verdict in words: the same call as the one after the close.
func (t *unitTest) atHoldEnd(w *record.Writer) string {
	if err := w.Flush(); err != nil {
		return "no verdict yet: " + err.Error()
	}
	rec, err := record.Open(w.Dir())
	if err != nil {
		return "no verdict yet: " + err.Error()
	}
	o := options(firstAssessment)
	o.Live = true
	r, _, _, err := result.Assess(rec, o)
	if err != nil {
		return "no verdict yet: " + err.Error()
	}
	if r.Challenge != nil {
		return verdictText(r, t.shown.Display)
	}
	return large(r.Verdict) + verdictText(r, t.shown.Display)
}

// atLook judges the growing recording at its newest look. What cannot be read
// now decides nothing now.
func atLook(w *record.Writer, watch *result.Watch) sequence.LookAnswer {
	if err := w.Flush(); err != nil {
		return sequence.LookAnswer{Text: "goes on: not judged: " + err.Error()}
	}
	rec, err := record.Open(w.Dir())
	if err != nil {
		return sequence.LookAnswer{Text: "goes on: not judged: " + err.Error()}
	}
	seen, err := watch.Look(rec)
	if err != nil {
		return sequence.LookAnswer{Text: "goes on: not judged: " + err.Error()}
	}
	return sequence.LookAnswer{End: seen.End, Text: seen.Text, Said: seen.Said}
}

// parted tells what explains the verdict from what a reader should merely
// know: everything on a PASS, and elsewhere what was not checked, set aside or
// still settling.
func parted(r *result.Result) (why, notes []string) {
	for _, reason := range r.Reasons {
		mere := r.Verdict == verdict.Pass.String()
		for _, word := range []string{"not checked", "set aside", result.CorrectionOfTheEnd, result.ConvertedAgain, "allow for the looks", analysis.ReasonStillSettling} {
			mere = mere || strings.Contains(reason, word)
		}
		if mere {
			notes = append(notes, reason)
		} else {
			why = append(why, reason)
		}
	}
	return why, notes
}

// verdictText is the verdict as a terminal shows it: the word first, then
// what decided, then why.
func verdictText(r *result.Result, d si.Display) string {
	if r.Challenge != nil {
		return challengeText(r.Challenge, r.Bench.Name, d)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s  %s", r.Verdict, r.SerialNumber)
	for _, c := range r.Circuits {
		for _, t := range c.Tests {
			for _, l := range t.Limits {
				fmt.Fprintf(&b, "\n  %s", limitText(c.Name, l, t.Estimates[l.Quantity], d, len(r.Circuits)))
			}
		}
	}
	why, notes := parted(r)
	for _, reason := range why {
		fmt.Fprintf(&b, "\n  why: %s", reason)
	}
	for _, note := range notes {
		fmt.Fprintf(&b, "\n  note: %s", note)
	}
	for _, advice := range r.Advice {
		fmt.Fprintf(&b, "\n  what would settle it: %s", advice)
	}
	return b.String()
}
