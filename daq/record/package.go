package record

import (
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"holdbench/daq"
)

// The files of a recording.
const (
	packageFile  = "datapackage.json"
	readingsFile = "readings.csv"
	eventsFile   = "events.csv"
)

// Version is the version of the format that this program writes, and the
// highest that it reads.
const Version = 1

// The states of a recording. Open means running, or cut short.
const (
	StateOpen   = "open"
	StateClosed = "closed"
)

// dataPackage is datapackage.json: a Frictionless Tabular Data Package, with
// what it does not provide for under "holdbench".
type dataPackage struct {
	Profile   string     `json:"profile"`
	Name      string     `json:"name"`
	Title     string     `json:"title"`
	Created   time.Time  `json:"created"`
	Resources []resource `json:"resources"`
	Holdbench *metaFile  `json:"holdbench"`
}

type resource struct {
	Name      string `json:"name"`
	Path      string `json:"path"`
	Profile   string `json:"profile"`
	Title     string `json:"title"`
	Format    string `json:"format"`
	MediaType string `json:"mediatype"`
	Encoding  string `json:"encoding"`
	Schema    schema `json:"schema"`
	Bytes     *int64 `json:"bytes,omitempty"`
	Hash      string `json:"hash,omitempty"`
}

type schema struct {
	Fields        []field  `json:"fields"`
	MissingValues []string `json:"missingValues"`
}

type field struct {
	Name  string `json:"name"`
	Type  string `json:"type"`
	Unit  string `json:"unit,omitempty"`
	Title string `json:"title,omitempty"`
}

// seal is what a closed recording says of one of its files.
type seal struct {
	bytes int64
	hash  string
}

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
}

type channelFile struct {
	Name       string      `json:"name"`
	Quantity   string      `json:"quantity"`
	Instrument string      `json:"instrument"`
	Interval   json.Number `json:"interval"` // s
	Converted  bool        `json:"converted"`
	RawUnit    string      `json:"raw_unit"`
}

type sourceFile struct {
	Name string `json:"name"`
	Hash string `json:"hash"`
	Text string `json:"text"`
}

// check refuses what would not read back as it was.
func (m Meta) check() error {
	texts := []string{m.RunID, m.SerialNumber, m.Model, m.Operator, m.Position, m.ClockKind, m.Program, m.Note}
	for _, s := range []SourceFile{m.Bench, m.Procedure, m.Characterisation} {
		texts = append(texts, s.Name, s.Hash, s.Text)
	}
	for _, c := range m.Channels {
		if c.Interval < 0 {
			return fmt.Errorf("recording: channel %q: interval %v is negative", c.Name, c.Interval)
		}
		texts = append(texts, c.Name, c.RawUnit, c.Instrument)
	}
	for _, t := range texts {
		if !utf8.ValidString(t) {
			return fmt.Errorf("recording: the text %.40q is not valid UTF-8", t)
		}
	}
	return nil
}

// newPackage describes a recording; without seals an open one.
func newPackage(m Meta, c *columns, readings, events *seal) dataPackage {
	p := dataPackage{
		Profile:   "tabular-data-package",
		Name:      packageName(m.RunID),
		Title:     "Hold test of " + m.SerialNumber,
		Created:   m.Started.Round(0),
		Holdbench: newMetaFile(m),
		Resources: []resource{
			newResource("readings", readingsFile, "One row a scan: an empty cell means no new valid reading", readingFields(c), readings),
			newResource("events", eventsFile, "Phases, gaps, faults, the operator's part; an empty until means not ended yet", eventFields(), events),
		},
	}
	if readings != nil && events != nil {
		p.Holdbench.State = StateClosed
	}
	return p
}

// packageName is the run id as far as a Data Package's name allows it.
func packageName(runID string) string {
	keep := func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-' || r == '_' || r == '.' {
			return r
		}
		return '-'
	}
	return strings.TrimSuffix("run-"+strings.Map(keep, strings.ToLower(runID)), "-")
}

func newResource(name, path, title string, fields []field, s *seal) resource {
	r := resource{
		Name: name, Path: path, Title: title, Profile: "tabular-data-resource",
		Format: "csv", MediaType: "text/csv", Encoding: "utf-8",
		Schema: schema{Fields: fields, MissingValues: []string{""}},
	}
	if s != nil {
		r.Bytes, r.Hash = &s.bytes, s.hash
	}
	return r
}

func readingFields(c *columns) []field {
	fields := []field{
		{Name: timeColumn, Type: "number", Unit: "s", Title: "since the start"},
		{Name: scanColumn, Type: "string", Title: "the instrument that was read"},
	}
	for i, place := range c.cells {
		ch := c.channels[place.channel]
		f := field{Name: c.header[i+2], Type: "number", Unit: unitOf(ch.Quantity)}
		if place.raw {
			f.Unit = ch.RawUnit
		}
		fields = append(fields, f)
	}
	return fields
}

func eventFields() []field {
	var fields []field
	for _, name := range eventColumns {
		f := field{Name: name, Type: "string"}
		if strings.HasSuffix(name, "[s]") {
			f.Type, f.Unit = "number", "s"
		}
		fields = append(fields, f)
	}
	return fields
}

func newMetaFile(m Meta) *metaFile {
	f := &metaFile{
		Version: Version, State: StateOpen,
		RunID: m.RunID, SerialNumber: m.SerialNumber, Model: m.Model, Operator: m.Operator,
		Position: m.Position, Started: m.Started.Round(0), ClockKind: m.ClockKind,
		Program: m.Program, Note: m.Note,
		Bench: sourceFile(m.Bench), Procedure: sourceFile(m.Procedure), Characterisation: sourceFile(m.Characterisation),
	}
	for _, c := range m.Channels {
		f.Channels = append(f.Channels, channelFile{
			Name: c.Name, Quantity: wordOf(c.Quantity), Instrument: c.Instrument, Converted: c.Converted,
			RawUnit: c.RawUnit, Interval: json.Number(appendSeconds(nil, c.Interval)),
		})
	}
	return f
}

// meta returns what newMetaFile was given.
func (f *metaFile) meta() (Meta, error) {
	m := Meta{
		RunID: f.RunID, SerialNumber: f.SerialNumber, Model: f.Model, Operator: f.Operator,
		Position: f.Position, Started: f.Started, ClockKind: f.ClockKind,
		Program: f.Program, Note: f.Note,
		Bench: SourceFile(f.Bench), Procedure: SourceFile(f.Procedure), Characterisation: SourceFile(f.Characterisation),
	}
	for _, c := range f.Channels {
		q, ok := quantityOf(c.Quantity)
		if !ok {
			return m, badPackage(fmt.Sprintf("channel %q: quantity", c.Name), fmt.Sprintf("%q", c.Quantity), `a quantity, e.g. "pressure"`)
		}
		interval, ok := parseSeconds([]byte(c.Interval))
		if !ok {
			return m, badPackage(fmt.Sprintf("channel %q: interval", c.Name), string(c.Interval), "a number of seconds")
		}
		m.Channels = append(m.Channels, daq.Channel{
			Name: c.Name, Quantity: q, Instrument: c.Instrument, Converted: c.Converted,
			RawUnit: c.RawUnit, Interval: interval,
		})
	}
	return m, nil
}

// badPackage is an error about a field of datapackage.json.
func badPackage(name, found, want string) error {
	return fmt.Errorf("%s: %s: found %s, want %s", packageFile, name, found, want)
}

func writePackage(dir string, p dataPackage) error {
	return ReplaceFile(filepath.Join(dir, packageFile), func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		return e.Encode(p)
	})
}
