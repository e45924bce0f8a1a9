package record

import (
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"time"
)

const (
	// maxNamePart is the longest part of a name that comes from a text.
	maxNamePart = 60
	// hashMark stands before the hash of a text that could not be used as it
	// is. No text is used as it is with that mark in it.
	hashMark = "~"
)

// FolderName returns <serial>_<date>_<run>, the name of a recording's folder,
// safe on every system. The date is that of started in its own time zone.
//
// A serial number of capital letters, digits, '-', '.' and '_' stands as it
// is. Any other is changed as little as possible, and '~' and the first
// twelve digits of the SHA-256 of the exact text are put behind it:
// characters other than those and small letters become '-'; dots, dashes and
// underscores at its ends go; the names that Windows keeps for devices (CON,
// NUL.x) get "sn-" in front; 60 bytes are the most. Small letters alone
// already call for the hash, so that "ab1" and "AB1" do not meet where file
// names ignore case. Of a run id, small letters stand and capitals and '_'
// call for the hash. So two different serial numbers, dates or runs never
// have the same name, save where two hashes meet.
func FolderName(serial string, started time.Time, runID string) string {
	return namePart(serial, isCapital, "._-", "sn") + "_" +
		started.Format("2006-01-02") + "_" +
		namePart(runID, isSmall, ".-", "run")
}

// FileStem returns the name, without extension, of the files that are made
// from a recording for people: the same as its folder's.
func FileStem(serial string, started time.Time, runID string) string {
	return FolderName(serial, started, runID)
}

// namePart makes a text safe as a part of a name. Letters of the kind "plain"
// and the marks stand; word replaces what has nothing left.
func namePart(text string, plain func(rune) bool, marks, word string) string {
	same := text != ""
	safe := strings.Map(func(r rune) rune {
		switch {
		case plain(r), '0' <= r && r <= '9', strings.ContainsRune(marks, r):
			return r
		case isCapital(r), isSmall(r):
			same = false
			return r
		}
		same = false
		return '-'
	}, text)
	safe = strings.Trim(safe, "._-")
	if isDevice(safe) {
		safe = word + "-" + safe
	}
	if len(safe) > maxNamePart {
		safe = strings.TrimRight(safe[:maxNamePart], "._-")
	}
	if same && safe == text {
		return safe
	}
	if safe == "" {
		safe = word
	}
	return fmt.Sprintf("%s%s%.6x", safe, hashMark, sha256.Sum256([]byte(text)))
}

func isCapital(r rune) bool { return 'A' <= r && r <= 'Z' }
func isSmall(r rune) bool   { return 'a' <= r && r <= 'z' }

// devices are the names that Windows keeps for itself, with any extension.
var devices = []string{"CON", "PRN", "AUX", "NUL", "COM", "LPT"}

// isDevice reports whether Windows would take a name for a device. COM and
// LPT count with and without a digit.
func isDevice(name string) bool {
	stem, _, _ := strings.Cut(strings.ToUpper(name), ".")
	if len(stem) == 4 && (strings.HasPrefix(stem, "COM") || strings.HasPrefix(stem, "LPT")) && isDigit(stem[3]) {
		return true
	}
	return slices.Contains(devices, stem)
}
