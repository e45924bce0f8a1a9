package record

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
)

// flakyDisk opens files on which room and syncs can be made to fail.
type flakyDisk struct {
	room    atomic.Int64 // bytes that it still takes
	badSync atomic.Bool
	syncs   atomic.Int64
}

type flakyFile struct {
	file
	disk *flakyDisk
}

func newFlakyDisk() *flakyDisk {
	d := &flakyDisk{}
	d.room.Store(math.MaxInt64)
	return d
}

func (d *flakyDisk) open(path string) (file, error) {
	f, err := createNew(path)
	return &flakyFile{file: f, disk: d}, err
}

// Write takes what there is room for, as an operating system does.
func (f *flakyFile) Write(b []byte) (int, error) {
	take := int(min(int64(len(b)), f.disk.room.Load()))
	n, err := f.file.Write(b[:take])
	f.disk.room.Add(-int64(n))
	if err == nil && take < len(b) {
		err = syscall.ENOSPC
	}
	return n, err
}

func (f *flakyFile) Sync() error {
	f.disk.syncs.Add(1)
	if f.disk.badSync.Load() {
		return syscall.EIO
	}
	return f.file.Sync()
}

func createOn(t *testing.T, disk *flakyDisk) *Writer {
	t.Helper()
	w, err := create(filepath.Join(t.TempDir(), "run"), testMeta(), disk.open)
	require.NoError(t, err)
	return w
}

func scanNumber(i int) daq.Scan {
	return moduleScan(time.Duration(i)*100*time.Millisecond, 12, 1e7-float64(i), 24)
}

// readNumbers requires that the recording holds exactly the first n scans of
// scanNumber.
func readNumbers(t *testing.T, r *Recording, n int) {
	t.Helper()
	p := column(t, r.Series(), "trapped_a")
	require.Equal(t, n, p.Len())
	for i := range n {
		require.Equal(t, Seconds(scanNumber(i).At), p.Time[i])
		require.Equal(t, 1e7-float64(i), p.Value[i])
	}
}

func TestFullDiskReachesTheCallerAndLosesNothingWritten(t *testing.T) {
	disk := newFlakyDisk()
	w := createOn(t, disk)
	for i := range 10 {
		require.NoError(t, w.Scan(scanNumber(i)))
	}
	require.NoError(t, w.Flush())
	disk.room.Store(100)
	for i := 10; i < 20; i++ {
		_ = w.Scan(scanNumber(i)) // told or not yet told: see below
	}
	require.ErrorIs(t, w.Flush(), syscall.ENOSPC)
	require.ErrorIs(t, w.Scan(scanNumber(20)), syscall.ENOSPC)
	require.ErrorIs(t, w.Event(daq.Event{Kind: daq.Note}), syscall.ENOSPC)
	require.ErrorIs(t, w.Close(), syscall.ENOSPC)
	require.ErrorIs(t, w.Scan(scanNumber(21)), os.ErrClosed)
	require.ErrorIs(t, w.Close(), os.ErrClosed)

	r, err := Open(w.Dir())
	require.NoError(t, err)
	require.Equal(t, StateOpen, r.State)
	require.Len(t, r.Findings, 1)
	require.Contains(t, r.Findings[0], "torn end: readings.csv")
	p := column(t, r.Series(), "trapped_a")
	require.GreaterOrEqual(t, p.Len(), 10)
	readNumbers(t, r, p.Len())
}

func TestFullDiskThatGetsRoomAgainLosesNothingAtAll(t *testing.T) {
	disk := newFlakyDisk()
	w := createOn(t, disk)
	disk.room.Store(33)
	for i := range 100 {
		_ = w.Scan(scanNumber(i)) // the disk is full at times: that is what is tested
		if i%10 == 0 {
			_ = w.Flush()
		}
		if i == 50 {
			require.ErrorIs(t, w.Flush(), syscall.ENOSPC)
			disk.room.Store(1000)
		}
	}
	disk.room.Store(math.MaxInt64)
	require.NoError(t, w.Flush())
	require.NoError(t, w.Scan(scanNumber(100)))
	require.NoError(t, w.Close())
	r, err := Open(w.Dir())
	require.NoError(t, err)
	require.Empty(t, r.Findings)
	readNumbers(t, r, 101)
}

// The disk fails and recovers between two scans; the next scan is told.
func TestFailureInTheBackgroundIsToldOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := newFlakyDisk()
		w := createOn(t, disk)
		require.NoError(t, w.Scan(scanNumber(0)))
		disk.room.Store(5)
		time.Sleep(syncEvery + time.Millisecond)
		disk.room.Store(math.MaxInt64)
		time.Sleep(syncEvery)
		require.ErrorIs(t, w.Scan(scanNumber(1)), syscall.ENOSPC)
		require.NoError(t, w.Scan(scanNumber(2)))
		require.NoError(t, w.Close())
		r, err := Open(w.Dir())
		require.NoError(t, err)
		readNumbers(t, r, 3)
	})
}

func TestFailedSyncIsNeverForgotten(t *testing.T) {
	disk := newFlakyDisk()
	w := createOn(t, disk)
	require.NoError(t, w.Scan(scanNumber(0)))
	disk.badSync.Store(true)
	require.ErrorIs(t, w.Flush(), syscall.EIO)
	disk.badSync.Store(false)
	require.ErrorIs(t, w.Flush(), syscall.EIO)
	require.ErrorIs(t, w.Scan(scanNumber(1)), syscall.EIO)
	require.ErrorIs(t, w.Close(), syscall.EIO)
	r, err := Open(w.Dir())
	require.NoError(t, err)
	require.Equal(t, StateOpen, r.State)
}

// What was told is on disk, and synced, within a second of wall time, though
// nothing more comes; and where nothing came nothing is synced.
func TestSyncedWithinASecondWithoutAnotherScan(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := newFlakyDisk()
		w := createOn(t, disk)
		time.Sleep(10 * time.Second)
		before := disk.syncs.Load()
		require.NoError(t, w.Scan(scanNumber(0)))
		require.NoError(t, w.Event(daq.Event{Kind: daq.Note, Text: "n"}))
		time.Sleep(time.Second)
		synctest.Wait()
		require.Equal(t, before+2, disk.syncs.Load())
		r, err := Open(w.Dir())
		require.NoError(t, err)
		readNumbers(t, r, 1)
		require.Len(t, r.Events, 1)
		time.Sleep(time.Minute)
		require.Equal(t, before+2, disk.syncs.Load())
		require.NoError(t, w.Close())
	})
}

func TestSyncedEverySecondWhileScansCome(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := newFlakyDisk()
		w := createOn(t, disk)
		before := disk.syncs.Load()
		for i := range 100 {
			require.NoError(t, w.Scan(scanNumber(i)))
			time.Sleep(100 * time.Millisecond)
		}
		require.GreaterOrEqual(t, disk.syncs.Load()-before, int64(10))
		require.NoError(t, w.Close())
	})
}

func TestCreateRefusesAFolderInUse(t *testing.T) {
	w := newRecording(t)
	_, err := Create(w.Dir(), testMeta())
	require.ErrorContains(t, err, "the folder is not empty")
	require.NoError(t, w.Scan(scanNumber(0)), "the first writer goes on")
	require.NoError(t, w.Close())
	_, err = Create(w.Dir(), testMeta())
	require.ErrorContains(t, err, "the folder is not empty")

	empty := t.TempDir()
	w, err = Create(empty, testMeta())
	require.NoError(t, err)
	require.NoError(t, w.Close())
}

// Both find the folder empty; one of them wins.
func TestTwoWritersAtOnce(t *testing.T) {
	for range 10 {
		dir := filepath.Join(t.TempDir(), "run")
		var both sync.WaitGroup
		var writers [2]*Writer
		var errs [2]error
		for i := range 2 {
			both.Go(func() { writers[i], errs[i] = Create(dir, testMeta()) })
		}
		both.Wait()
		require.False(t, errs[0] == nil && errs[1] == nil)
		for i, w := range writers {
			if errs[i] == nil {
				require.NoError(t, w.Scan(scanNumber(0)))
				require.NoError(t, w.Close())
				r, err := Open(dir)
				require.NoError(t, err)
				require.Empty(t, r.Findings)
				readNumbers(t, r, 1)
			}
		}
	}
}

func TestWriterTakesScansFromSeveralGoroutines(t *testing.T) {
	w := newRecording(t)
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			for i := range 200 {
				if err := w.Event(daq.Event{At: time.Duration(i), Kind: daq.Note}); err != nil {
					t.Error(err)
				}
			}
		})
	}
	for i := range 2000 {
		require.NoError(t, w.Scan(scanNumber(i)))
	}
	all.Wait()
	require.NoError(t, w.Close())
	r, err := Open(w.Dir())
	require.NoError(t, err)
	readNumbers(t, r, 2000)
	require.Len(t, r.Events, 800)
	require.Empty(t, r.Findings)
}

func TestScanRefusesWhatDoesNotBelong(t *testing.T) {
	w := newRecording(t)
	for want, s := range map[string]daq.Scan{
		`scan of "gauge", which reads none`:                        {Instrument: "gauge"},
		`scan of "module" at -1ns, before the start`:               {Instrument: "module", At: -1},
		`scan of "module": no channel 3`:                           {Instrument: "module", Readings: []daq.Reading{{Channel: 3}}},
		`scan of "module": no channel -1`:                          {Instrument: "module", Readings: []daq.Reading{{Channel: -1}}},
		`carries channel "oil" of "thermometer, left"`:             {Instrument: "module", Readings: []daq.Reading{{Channel: 2}}},
		`scan of "module" carries channel "trapped_a" more than o`: {Instrument: "module", Readings: []daq.Reading{{}, {}}},
	} {
		require.ErrorContains(t, w.Scan(s), want)
	}
	require.ErrorContains(t, w.Event(daq.Event{}), "without a kind")
	require.ErrorContains(t, w.Event(daq.Event{At: -1, Kind: daq.Note}), "before the start")
	require.NoError(t, w.Scan(scanNumber(0)))
	require.NoError(t, w.Close())
	r, err := Open(w.Dir())
	require.NoError(t, err)
	readNumbers(t, r, 1)
	require.Empty(t, r.Findings)
}

func TestCreateRefusesWhatWouldNotReadBack(t *testing.T) {
	for want, change := range map[string]func(*Meta){
		"a channel without a name":           func(m *Meta) { m.Channels[0].Name = "" },
		`channel "oil": names no instrument`: func(m *Meta) { m.Channels[2].Instrument = "" },
		`two columns named "supply [V]"`:     func(m *Meta) { m.Channels[2] = m.Channels[1] },
		`two columns named "trapped_a raw [A]"`: func(m *Meta) {
			m.Channels[1].Name = "trapped_a raw"
			m.Channels[1].Quantity = si.Current
			m.Channels[0].RawUnit = "A"
		},
		"a control character in a name":            func(m *Meta) { m.Channels[1].Instrument = "a\nb" },
		`channel "oil": quantity 255 is none`:      func(m *Meta) { m.Channels[2].Quantity = 255 },
		`the text "\xff" is not valid UTF-8`:       func(m *Meta) { m.SerialNumber = "\xff" },
		`channel "oil": interval -1ns is negative`: func(m *Meta) { m.Channels[2].Interval = -1 },
	} {
		m := testMeta()
		change(&m)
		dir := filepath.Join(t.TempDir(), "run")
		_, err := Create(dir, m)
		require.ErrorContains(t, err, want)
		require.NoDirExists(t, dir)
	}
}

func TestCreateTellsOfADiskThatRefuses(t *testing.T) {
	disk := newFlakyDisk()
	disk.room.Store(10)
	_, err := create(filepath.Join(t.TempDir(), "run"), testMeta(), disk.open)
	require.ErrorIs(t, err, syscall.ENOSPC)
	_, err = create(filepath.Join(t.TempDir(), "run"), testMeta(), func(path string) (file, error) {
		if filepath.Base(path) == eventsFile {
			return nil, fmt.Errorf("open %s: %w", path, os.ErrPermission)
		}
		return createNew(path)
	})
	require.True(t, errors.Is(err, os.ErrPermission))
}
