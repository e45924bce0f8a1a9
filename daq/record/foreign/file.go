package foreign

import (
	"io"
	"time"

	"holdbench/analysis/series"
	"holdbench/analysis/si"
)

// File is a logger's file as read.
type File struct {
	// Name as given; Hash is "sha256:…" of the file's bytes.
	Name, Hash string
	// Series has, of the columns trapped_a, trapped_b, feed (gauge pressure,
	// Pa), temperature and ambient (K), those that the file has, in this order.
	// Time is in s from the file's first instant, strictly increasing; columns
	// of one pace share their times. NaN where there was no reading. At least
	// one trapped pressure is there, with at least 10 readings.
	Series series.Series
	// Units as read, by the name of the column, "time" among them where it is
	// a plain number.
	Units map[string]si.Unit
	// Headers are the names that the file itself gives the columns, with
	// their units, by the name of the column.
	Headers map[string]string
	// AirU is the standard uncertainty, Pa, of the air pressure that was taken
	// off absolute pressures, by the name of the column.
	AirU map[string]float64
	// Start is the file's first instant; zero where it has no calendar stamps.
	Start time.Time
	// Origin is what the file's own time says at the first instant, in s: of
	// seconds that run from elsewhere, or since midnight.
	Origin float64
	// Interval is the median time between two rows, s.
	Interval float64
	// Rows is the number of rows in the series, Lines that of the file.
	Rows, Lines int
	// Notes say in plain words what was found and assumed.
	Notes []string
	// Settings as resolved: with them another file of the same logger needs no
	// looking.
	Settings Settings
}

// Read reads a logger's file. Every error is a *strict.Error, or several
// joined: the file is missing, may not be read, is a folder, larger than
// MaxSize, empty or binary; no column is found for the time or the pressure,
// or more than one; a unit is missing; figures have thousands marks; dates can
// be read in two ways; more than a few cells are no numbers; there are fewer
// than 10 readings, or the pressure never changes.
func Read(path string, s Settings) (*File, error) {
	f, size, err := open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return ReadFrom(path, f, size, s)
}

// ReadFrom reads a logger's file of size bytes from r; name is for messages.
// Errors as for Read.
func ReadFrom(name string, r io.ReaderAt, size int64, s Settings) (*File, error) {
	if err := checkSize(name, size); err != nil {
		return nil, err
	}
	if err := s.Check(name); err != nil {
		return nil, err
	}
	h, err := readHead(name, r, size, s)
	if err != nil {
		return nil, err
	}
	l, err := h.layout(s)
	if err != nil {
		return nil, err
	}
	t, err := l.read(r, size)
	if err != nil {
		return nil, err
	}
	return t.file()
}
