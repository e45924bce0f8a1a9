//go:build !windows

package record

import "os"

// renameOver renames a file over another in one step.
func renameOver(from, to string) error { return os.Rename(from, to) }

// syncFolder makes the names in a folder as lasting as the files' content.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = d.Sync()
	if closed := d.Close(); err == nil {
		err = closed
	}
	return err
}
