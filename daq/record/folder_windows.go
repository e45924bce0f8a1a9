package record

import (
	"errors"
	"os"
	"syscall"
	"time"
)

// renameOver renames a file over another. Windows refuses while anybody,
// often a virus scanner, has the old file open; such holds are short, so it
// tries for a second.
func renameOver(from, to string) error {
	const accessDenied, sharingViolation = syscall.Errno(5), syscall.Errno(32)
	var err error
	for range 20 {
		err = os.Rename(from, to)
		if !errors.Is(err, accessDenied) && !errors.Is(err, sharingViolation) {
			return err
		}
		time.Sleep(50 * time.Millisecond)
	}
	return err
}

// syncFolder does nothing: Windows has no such call, and NTFS keeps names in
// its journal.
func syncFolder(string) error { return nil }
