package record

import (
	"encoding/json"
	"io"
	"path/filepath"
	"strings"
	"time"
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

// newPackage describes a recording; without seals an open one.
func newPackage(m Meta, c *columns, readings, events *seal) dataPackage {
	title := "Hold test of " + m.SerialNumber
	if m.Comparison != nil {
		title = "Calibration of " + m.Comparison.Channel
	}
	p := dataPackage{
		Profile:   "tabular-data-package",
		Name:      packageName(m.RunID),
		Title:     title,
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
		f := field{Name: c.header[i+2], Type: "number", Unit: ch.Quantity.SI().Symbol}
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

func writePackage(dir string, p dataPackage) error {
	return ReplaceFile(filepath.Join(dir, packageFile), func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		return e.Encode(p)
	})
}
