package record

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// ReplaceFile writes a file whole or not at all: into a temporary file beside
// path, synced, renamed over path, and the folder synced. When it returns an
// error, path is as it was. The errors are those of write and of the
// operating system, wrapped with path.
func ReplaceFile(path string, write func(io.Writer) error) error {
	if err := replaceFile(path, write); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}

func replaceFile(path string, write func(io.Writer) error) error {
	name := fmt.Sprintf(".%s.%016x.tmp", filepath.Base(path), rand.Uint64())
	temporary := filepath.Join(filepath.Dir(path), name)
	f, err := os.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	err = writeSynced(f, write)
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = renameOver(temporary, path)
	}
	if err != nil {
		_ = os.Remove(temporary) // the first error is the one that counts
		return err
	}
	return syncFolder(filepath.Dir(path))
}

func writeSynced(f *os.File, write func(io.Writer) error) error {
	b := bufio.NewWriter(f)
	if err := write(b); err != nil {
		return err
	}
	if err := b.Flush(); err != nil {
		return err
	}
	return f.Sync()
}
