package record

import (
	"crypto/sha256"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
)

// file is what a writer needs of the files it appends to.
type file interface {
	io.Writer
	Sync() error
	Close() error
}

// table is a CSV file that is only appended to: a buffer, the file, and the
// count and hash of the bytes that the file has taken. The writer's lock
// guards it, save for sync.
type table struct {
	name     string
	file     file
	buffer   []byte
	bytes    int64
	hash     hash.Hash
	unsynced bool
}

// newTable creates the file with its first line, which is synced at once.
func newTable(dir, name string, firstLine []byte, open func(string) (file, error)) (*table, error) {
	f, err := open(filepath.Join(dir, name))
	if err != nil {
		return nil, err
	}
	t := &table{name: name, file: f, hash: sha256.New(), buffer: firstLine}
	if err = t.flush(); err == nil {
		err = t.sync()
	}
	if err != nil {
		_ = f.Close() // the first error is the one that counts
		return nil, err
	}
	t.unsynced = false
	return t, nil
}

// createNew opens a file for appending that must not be there yet.
func createNew(path string) (file, error) {
	return os.OpenFile(path, os.O_WRONLY|os.O_APPEND|os.O_CREATE|os.O_EXCL, 0o666)
}

// flush hands the buffer to the operating system. What it does not take, for
// want of room on the disk, stays in the buffer for the next time.
func (t *table) flush() error {
	if len(t.buffer) == 0 {
		return nil
	}
	n, err := t.file.Write(t.buffer)
	t.hash.Write(t.buffer[:n])
	t.bytes += int64(n)
	t.buffer = append(t.buffer[:0], t.buffer[n:]...)
	t.unsynced = t.unsynced || n > 0
	if err != nil {
		return fmt.Errorf("write %s: %w", t.name, err)
	}
	return nil
}

func (t *table) sync() error {
	if err := t.file.Sync(); err != nil {
		return fmt.Errorf("sync %s: %w", t.name, err)
	}
	return nil
}

func (t *table) close() error {
	if err := t.file.Close(); err != nil {
		return fmt.Errorf("close %s: %w", t.name, err)
	}
	return nil
}

// sealed describes the file as it is now, for datapackage.json.
func (t *table) sealed() *seal {
	return &seal{bytes: t.bytes, hash: hashText(t.hash)}
}

// hashText is how a SHA-256 is written in datapackage.json and results.
func hashText(h hash.Hash) string { return fmt.Sprintf("sha256:%x", h.Sum(nil)) }
