package record

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"
	"unicode/utf8"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/strict"
)

// metaFile is Meta as written.
type metaFile struct {
	Version          int           `json:"version"`
	State            string        `json:"state"`
	RunID            string        `json:"run_id"`
	SerialNumber     string        `json:"serial_number"`
	Model            string        `json:"model"`
	Operator         string        `json:"operator"`
	Position         string        `json:"position"`
	Started          time.Time     `json:"started"`
	ClockKind        string        `json:"clock"`
	Program          string        `json:"program"`
	Note             string        `json:"note"`
	Channels         []channelFile `json:"channels"`
	Bench            sourceFile    `json:"bench"`
	Procedure        sourceFile    `json:"procedure"`
	Characterisation sourceFile    `json:"characterisation"`
	Fluids           sourceFile    `json:"fluids,omitzero"`

	Challenge *challengeFile `json:"challenge,omitempty"`
	Overdue   *overdueFile   `json:"overdue_calibration,omitempty"`

	Comparison *Comparison `json:"comparison,omitempty"`
}

type overdueFile struct {
	Reason string `json:"reason"`
	By     string `json:"by"`
}

type challengeFile struct {
	Code    string   `json:"code"`
	Circuit string   `json:"circuit"`
	Known   leakFile `json:"known"`
	Own     leakFile `json:"own"`
}

type leakFile struct {
	Value    float64 `json:"value"`
	U        float64 `json:"u"`
	Quantity string  `json:"quantity"`
	Written  string  `json:"written"`
	Source   string  `json:"source,omitempty"`
}

type channelFile struct {
	Name       string      `json:"name"`
	Quantity   string      `json:"quantity"`
	Instrument string      `json:"instrument"`
	Interval   json.Number `json:"interval"` // s
	Converted  bool        `json:"converted"`
	RawUnit    string      `json:"raw_unit"`
	State      bool        `json:"state,omitempty"`
}

type sourceFile struct {
	Name string `json:"name"`
	Hash string `json:"hash"`
	Text string `json:"text"`
}

// check refuses what would not read back as it was.
func (m Meta) check() error {
	texts := []string{m.RunID, m.SerialNumber, m.Model, m.Operator, m.Position, m.ClockKind, m.Program, m.Note}
	for _, s := range []SourceFile{m.Bench, m.Procedure, m.Characterisation, m.Fluids} {
		texts = append(texts, s.Name, s.Hash, s.Text)
	}
	for _, c := range m.Channels {
		if c.Interval < 0 {
			return fmt.Errorf("recording: channel %q: interval %v is negative", c.Name, c.Interval)
		}
		texts = append(texts, c.Name, c.RawUnit, c.Instrument)
	}
	if c := m.Challenge; c != nil {
		texts = append(texts, c.Code, c.Circuit)
		for _, l := range []Leak{c.Known, c.Own} {
			texts = append(texts, l.Written, l.Source)
			if math.IsNaN(l.Value+l.U) || math.IsInf(l.Value+l.U, 0) || l.U < 0 {
				return fmt.Errorf("recording: challenge %q: a leak of %v ± %v", c.Code, l.Value, l.U)
			}
		}
	}
	if c := m.Comparison; c != nil {
		texts = append(texts, c.Channel, c.ReferenceChannel, c.Reference, c.Certificate, c.Due, c.Fit)
	}
	if o := m.Overdue; o != nil {
		texts = append(texts, o.Reason, o.By)
	}
	for _, t := range texts {
		if !utf8.ValidString(t) {
			return fmt.Errorf("recording: the text %.40q is not valid UTF-8", t)
		}
	}
	return nil
}

func newMetaFile(m Meta) *metaFile {
	f := &metaFile{
		Version: Version, State: StateOpen,
		RunID: m.RunID, SerialNumber: m.SerialNumber, Model: m.Model, Operator: m.Operator,
		Position: m.Position, Started: m.Started.Round(0), ClockKind: m.ClockKind,
		Program: m.Program, Note: m.Note,
		Bench: sourceFile(m.Bench), Procedure: sourceFile(m.Procedure), Characterisation: sourceFile(m.Characterisation),
		Fluids: sourceFile(m.Fluids),
	}
	for _, c := range m.Channels {
		f.Channels = append(f.Channels, channelFile{
			Name: c.Name, Quantity: c.Quantity.String(), Instrument: c.Instrument, Converted: c.Converted,
			RawUnit: c.RawUnit, Interval: json.Number(appendSeconds(nil, c.Interval)), State: c.State,
		})
	}
	if c := m.Challenge; c != nil {
		f.Challenge = &challengeFile{Code: c.Code, Circuit: c.Circuit, Known: newLeakFile(c.Known), Own: newLeakFile(c.Own)}
	}
	f.Comparison = m.Comparison
	if m.Overdue != nil {
		o := overdueFile(*m.Overdue)
		f.Overdue = &o
	}
	return f
}

// meta returns what newMetaFile was given. path is for errors, which are
// *strict.Error.
func (f *metaFile) meta(path string) (Meta, error) {
	m := Meta{
		RunID: f.RunID, SerialNumber: f.SerialNumber, Model: f.Model, Operator: f.Operator,
		Position: f.Position, Started: f.Started, ClockKind: f.ClockKind,
		Program: f.Program, Note: f.Note,
		Bench: SourceFile(f.Bench), Procedure: SourceFile(f.Procedure), Characterisation: SourceFile(f.Characterisation),
		Fluids: SourceFile(f.Fluids),
	}
	m.Comparison = f.Comparison
	if f.Overdue != nil {
		o := Overdue(*f.Overdue)
		m.Overdue = &o
	}
	if c := f.Challenge; c != nil {
		m.Challenge = &Challenge{Code: c.Code, Circuit: c.Circuit}
		for _, l := range []struct {
			key string
			of  leakFile
			to  *Leak
		}{{"known", c.Known, &m.Challenge.Known}, {"own", c.Own, &m.Challenge.Own}} {
			q, ok := quantityNamed(l.of.Quantity)
			if !ok || q != si.PressureRate && q != si.VolumeFlow {
				return m, &strict.Error{File: path, Field: "challenge: " + l.key + ": quantity", Found: strconv.Quote(l.of.Quantity), Want: `"pressure rate" or "volume flow"`}
			}
			*l.to = Leak{Value: l.of.Value, U: l.of.U, Quantity: q, Written: l.of.Written, Source: l.of.Source}
		}
	}
	for _, c := range f.Channels {
		bad := func(key, found, want string) error {
			return &strict.Error{File: path, Field: fmt.Sprintf("channel %q: %s", c.Name, key), Found: found, Want: want}
		}
		q, ok := quantityNamed(c.Quantity)
		if !ok {
			return m, bad("quantity", strconv.Quote(c.Quantity), `a quantity, e.g. "pressure"`)
		}
		interval, ok := parseSeconds([]byte(c.Interval))
		if !ok {
			return m, bad("interval", strconv.Quote(c.Interval.String()), "a number of seconds")
		}
		m.Channels = append(m.Channels, daq.Channel{
			Name: c.Name, Quantity: q, Instrument: c.Instrument, Converted: c.Converted,
			RawUnit: c.RawUnit, Interval: interval, State: c.State,
		})
	}
	return m, nil
}

func newLeakFile(l Leak) leakFile {
	return leakFile{Value: l.Value, U: l.U, Quantity: l.Quantity.String(), Written: l.Written, Source: l.Source}
}

// quantityNamed is the quantity of that name.
func quantityNamed(name string) (si.Quantity, bool) {
	i := slices.IndexFunc(si.Quantities(), func(q si.Quantity) bool { return q.String() == name })
	return si.Quantity(max(i, 0)), i >= 0
}
