package record

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"

	"holdbench/daq"
)

const (
	// syncEvery is the wall time between two syncs while there is something
	// to sync: half of what is promised, so that a slow disk has as long.
	syncEvery = 500 * time.Millisecond
	// flushAt is the size at which a buffer goes to the operating system
	// before its time.
	flushAt = 64 << 10
)

var _ daq.Log = (*Writer)(nil)

// Writer appends to a recording. Its methods may be called from several
// goroutines. One goroutine of its own flushes and syncs at least once a
// second of wall time, whether or not scans still come; Close ends it.
type Writer struct {
	dir     string
	meta    Meta
	columns *columns

	mu               sync.Mutex // guards what follows
	readings, events *table
	slots            []int
	closed           bool
	failed           error // a write that failed and was not told of yet
	recovered        bool  // what failed went to disk later
	broken           error // a sync that failed: what the disk holds is unknown

	syncing sync.Mutex // one sync at a time, scans meanwhile go on
	stop    chan struct{}
	stopped chan struct{}
}

// Create begins a recording in the folder dir, which it makes where there is
// none. Headers and datapackage.json are on disk when it returns. Errors: the
// folder is not empty, the channels cannot be told apart, a text of m is not
// valid UTF-8, or the operating system's, wrapped; after that one the folder
// may be left with headers in it, but is no recording.
func Create(dir string, m Meta) (*Writer, error) {
	w, err := create(dir, m, createNew)
	if err != nil {
		return nil, fmt.Errorf("create recording %s: %w", dir, err)
	}
	return w, nil
}

func create(dir string, m Meta, open func(string) (file, error)) (*Writer, error) {
	c, err := newColumns(m.Channels)
	if err != nil {
		return nil, err
	}
	if err := m.check(); err != nil {
		return nil, err
	}
	if err := emptyFolder(dir); err != nil {
		return nil, err
	}
	w := &Writer{
		dir: dir, meta: m, columns: c, slots: make([]int, len(m.Channels)),
		stop: make(chan struct{}), stopped: make(chan struct{}),
	}
	if err := w.begin(open); err != nil {
		return nil, err
	}
	go w.keepSynced()
	return w, nil
}

// emptyFolder makes the folder, or makes sure that there is nothing in it.
func emptyFolder(dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	if len(entries) > 0 {
		return fmt.Errorf("the folder is not empty: it has %q in it; a recording begins in a folder of its own", entries[0].Name())
	}
	return syncFolder(filepath.Dir(filepath.Clean(dir)))
}

// begin writes the two tables' headers, then datapackage.json: where that is,
// the rest is.
func (w *Writer) begin(open func(string) (file, error)) error {
	var err error
	if w.readings, err = newTable(w.dir, readingsFile, w.columns.headerLine(), open); err != nil {
		return err
	}
	if w.events, err = newTable(w.dir, eventsFile, csvLine(eventColumns), open); err == nil {
		err = writePackage(w.dir, newPackage(w.meta, w.columns, nil, nil))
	}
	if err != nil {
		return errors.Join(err, w.closeFiles())
	}
	return nil
}

// Dir returns the recording's folder as given to Create.
func (w *Writer) Dir() string { return w.dir }

// Scan writes one scan. A channel whose reading is not healthy gets an empty
// cell, its raw number is kept. An error that begins with "recording:" is
// about the scan, which was not written. Any other is the disk's, perhaps of
// an earlier write: the scan is kept in memory and written when the disk
// takes it.
func (w *Writer) Scan(s daq.Scan) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.closed {
		return errClosed
	}
	var err error
	w.readings.buffer, err = w.columns.appendRow(w.readings.buffer, s, w.slots)
	if err != nil {
		return err
	}
	return w.written()
}

// Event writes one event; errors as those of Scan. Of an interval write the
// beginning with Until = daq.Open, and the same event again when it ends.
func (w *Writer) Event(e daq.Event) error {
	line, err := eventLine(e)
	if err != nil {
		return err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.closed {
		return errClosed
	}
	w.events.buffer = append(w.events.buffer, line...)
	return w.written()
}

var errClosed = fmt.Errorf("recording: %w", os.ErrClosed)

// written flushes when there is much to flush, and returns what went wrong
// since it was last asked.
func (w *Writer) written() error {
	if len(w.readings.buffer)+len(w.events.buffer) >= flushAt {
		w.flush()
	}
	return w.trouble()
}

// flush hands both buffers to the operating system and remembers failure and
// recovery.
func (w *Writer) flush() {
	err := errors.Join(w.readings.flush(), w.events.flush())
	if err != nil {
		w.failed = err
	}
	w.recovered = err == nil
}

// trouble returns each failure at least once, and again as long as it lasts.
func (w *Writer) trouble() error {
	err := errors.Join(w.broken, w.failed)
	if w.recovered {
		w.failed = nil
	}
	return err
}

// Flush writes and syncs everything now. After a full disk it is the way to
// try again.
func (w *Writer) Flush() error {
	w.sync()
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.recovered {
		w.failed = nil // all of it is on disk
	}
	return w.trouble()
}

// keepSynced is the writer's goroutine.
func (w *Writer) keepSynced() {
	defer close(w.stopped)
	tick := time.NewTicker(syncEvery)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			w.sync()
		case <-w.stop:
			return
		}
	}
}

// sync flushes under the lock and syncs outside it, so that a slow disk does
// not hold up the scans.
func (w *Writer) sync() {
	w.syncing.Lock()
	defer w.syncing.Unlock()
	w.mu.Lock()
	w.flush()
	var due []*table
	for _, t := range []*table{w.readings, w.events} {
		if t.unsynced {
			due = append(due, t)
			t.unsynced = false
		}
	}
	w.mu.Unlock()

	var err error
	for _, t := range due {
		err = errors.Join(err, t.sync())
	}
	if err != nil {
		w.mu.Lock()
		w.broken = err
		w.mu.Unlock()
	}
}

// Close flushes, syncs and seals: datapackage.json is replaced by one with
// state "closed" and with the size and hash of each file. When the disk does
// not take everything, the error says so, the files are closed as they are
// and the state stays "open"; Flush until it returns nil first, if that
// matters. A second Close returns an error.
func (w *Writer) Close() error {
	w.mu.Lock()
	if w.closed {
		w.mu.Unlock()
		return errClosed
	}
	w.closed = true
	w.mu.Unlock()
	close(w.stop)
	<-w.stopped

	err := w.Flush()
	if closing := w.closeFiles(); err == nil {
		err = closing
	}
	if err == nil {
		err = writePackage(w.dir, newPackage(w.meta, w.columns, w.readings.sealed(), w.events.sealed()))
	}
	if err != nil {
		return fmt.Errorf("close recording %s: %w", w.dir, err)
	}
	return nil
}

func (w *Writer) closeFiles() error {
	err := w.readings.close()
	if w.events != nil {
		err = errors.Join(err, w.events.close())
	}
	return err
}
