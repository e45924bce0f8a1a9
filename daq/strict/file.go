package strict

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"strconv"
)

// MaxFileSize is the largest file, in bytes, that is taken for one that a
// person wrote.
const MaxFileSize = 4 << 20

// ReadFile reads a file that a person wrote. what says which kind of file is
// wanted ("a bench file"). A file that is not there, may not be read, is a
// folder or is larger than MaxFileSize is an *Error.
func ReadFile(path, what string) ([]byte, error) {
	fault := func(found string, cause error) error {
		return &Error{File: path, Found: found, Want: what, Cause: cause}
	}
	file, err := os.Open(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fault("no such file", err)
	case errors.Is(err, fs.ErrPermission):
		return nil, fault("a file that may not be read", err)
	case err != nil:
		return nil, fault("a file that cannot be opened ("+err.Error()+")", err)
	}
	defer file.Close()
	if info, err := file.Stat(); err == nil && info.IsDir() {
		return nil, fault("a folder", nil)
	}
	text, err := io.ReadAll(io.LimitReader(file, MaxFileSize+1))
	if err != nil {
		return nil, fault("a file that cannot be read ("+err.Error()+")", err)
	}
	if len(text) > MaxFileSize {
		return nil, fault("more than "+strconv.Itoa(MaxFileSize>>20)+" MB", nil)
	}
	return text, nil
}

// Hash returns "sha256:" and the hexadecimal SHA-256 of the file's bytes, by
// which a result names the files that it rests on.
func Hash(text []byte) string {
	sum := sha256.Sum256(text)
	return "sha256:" + hex.EncodeToString(sum[:])
}
