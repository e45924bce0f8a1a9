package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"

	"holdbench/analysis/series"
	"holdbench/daq"
	"holdbench/daq/strict"
)

// ErrNewer says that a recording was written by a newer program, in a version
// of the format that this one does not know.
var ErrNewer = errors.New("recorded by a newer program")

// Recording is a recording as read. It may still be running: then it is what
// was on disk when it was opened.
type Recording struct {
	Dir  string
	Meta Meta
	// State is StateClosed, or StateOpen: running or cut short.
	State string
	// Events in the order in which they began. An instant has Until == At; an
	// interval without an end has Until == daq.Open.
	Events []daq.Event
	// Findings say in plain words what is wrong with the files: a torn end
	// ("torn end: …"), damaged lines, a file that changed since the close.
	// Empty when nothing is.
	Findings []string
	// Hashes are "sha256:…" of the files' bytes as read, by file name.
	Hashes map[string]string

	columns *columns
	series  series.Series
	end     float64
}

// Open reads a recording; it changes nothing. Damage to readings and events
// is no error but a finding, and what can be read is. Errors: a *strict.Error
// when dir is not a recording, ErrNewer, or the operating system's, wrapped.
func Open(dir string) (*Recording, error) {
	r := &Recording{Dir: dir, Hashes: map[string]string{}}
	p, err := r.readPackage()
	if err != nil {
		return nil, err
	}
	if err := r.readReadings(p.Resources); err != nil {
		return nil, fmt.Errorf("open recording: %w", err)
	}
	if err := r.readEvents(p.Resources); err != nil {
		return nil, fmt.Errorf("open recording: %w", err)
	}
	return r, nil
}

// Series returns the readings: one column for each channel, in the order of
// Meta.Channels, values SI. A column has a place for each scan of the
// channel's instrument, NaN where that scan had no valid reading of it. Times
// are Seconds since the start, strictly increasing; columns of one instrument
// share them. The result shares memory with the recording: do not write to
// it.
func (r *Recording) Series() series.Series { return r.series }

// End returns the time of the last scan, s; NaN when there is none.
func (r *Recording) End() float64 { return r.end }

// readPackage reads datapackage.json.
func (r *Recording) readPackage() (dataPackage, error) {
	var p dataPackage
	path := filepath.Join(r.Dir, packageFile)
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return p, &strict.Error{File: path, Found: "no such file", Want: "the folder of a recording, which has one", Cause: err}
	}
	if err != nil {
		return p, fmt.Errorf("open recording: %w", err)
	}
	r.Hashes[packageFile] = strict.Hash(text)
	if err := json.Unmarshal(text, &p); err != nil {
		return p, &strict.Error{File: path, Line: lineOf(text, err), Found: jsonTrouble(err), Want: "a recording's data package as it was written", Cause: err}
	}
	return p, r.take(p.Holdbench, path)
}

// jsonTrouble says in plain words why JSON could not be read.
func jsonTrouble(err error) string {
	var kind *json.UnmarshalTypeError
	if errors.As(err, &kind) {
		return "a " + kind.Value + " where something else belongs"
	}
	return "text that is no JSON from here on"
}

// lineOf returns the line at which JSON could not be read, 0 if unknown.
func lineOf(text []byte, err error) int {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	offset := int64(-1)
	switch {
	case errors.As(err, &syntax):
		offset = syntax.Offset
	case errors.As(err, &kind):
		offset = kind.Offset
	}
	if offset < 0 || offset > int64(len(text)) {
		return 0
	}
	return 1 + bytes.Count(text[:offset], []byte{'\n'})
}

// take checks and takes over the part of datapackage.json that is ours.
func (r *Recording) take(f *metaFile, path string) error {
	bad := func(key, found, want string) error {
		return &strict.Error{File: path, Field: key, Found: found, Want: want}
	}
	switch {
	case f == nil:
		return bad("holdbench", "nothing", "what makes a data package a recording")
	case f.Version > Version:
		return fmt.Errorf("%s: format version %d, this program reads up to %d: %w", path, f.Version, Version, ErrNewer)
	case f.Version < 1:
		return bad("version", strconv.Itoa(f.Version), "1 or more")
	case f.State != StateOpen && f.State != StateClosed:
		return bad("state", strconv.Quote(f.State), `"open" or "closed"`)
	}
	var err error
	if r.Meta, err = f.meta(path); err != nil {
		return err
	}
	r.State = f.State
	if r.columns, err = newColumns(r.Meta.Channels); err != nil {
		return bad("channels", err.Error(), "channels as a recording has them")
	}
	return nil
}

// readEvents reads events.csv.
func (r *Recording) readEvents(resources []resource) error {
	found := &findings{file: eventsFile}
	text, err := os.ReadFile(filepath.Join(r.Dir, eventsFile))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		found.add("missing: no events could be read")
	case err != nil:
		return err
	default:
		r.Hashes[eventsFile] = strict.Hash(text)
		header := csvLine(eventColumns)
		if !bytes.HasPrefix(text, header) {
			found.add("line 1 is not the header that belongs there")
			header = text[:lineLength(text)]
		}
		r.Events = readEvents(text[len(header):], 2, found)
		r.checkSeal(found, resources)
	}
	r.Findings = append(r.Findings, found.all()...)
	return nil
}

// checkSeal compares a file with what datapackage.json says of it.
func (r *Recording) checkSeal(found *findings, resources []resource) {
	if r.State != StateClosed {
		return
	}
	is := r.Hashes[found.file]
	for _, res := range resources {
		if res.Path != found.file {
			continue
		}
		if res.Hash != is {
			found.add("changed since it was closed: sha256 %s, was %s", short(is), short(res.Hash))
		}
		return
	}
	found.add("datapackage.json does not say what its hash was")
}
