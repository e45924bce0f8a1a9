package foreign

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"strconv"

	"holdbench/daq/strict"
)

// MaxSize is the largest file, in bytes, that is read: 2 GiB, some 70 million
// rows of four columns.
const MaxSize = 2 << 30

// wantFile says what is wanted where something is no file of readings.
const wantFile = "a CSV file of readings"

// open opens a file that can be read to its end, and says how large the file
// system says it is. Nothing is read.
func open(path string) (*os.File, int64, error) {
	fault := func(found string, cause error) (*os.File, int64, error) {
		return nil, 0, &strict.Error{File: path, Found: found, Want: wantFile, Cause: cause}
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fault("no such file", err)
	case errors.Is(err, fs.ErrPermission):
		return fault("a file that may not be read", err)
	case err != nil:
		return fault("a file that cannot be opened ("+err.Error()+")", err)
	case info.IsDir():
		return fault("a folder", nil)
	case !info.Mode().IsRegular():
		return fault("a device or pipe", nil)
	}
	if err := checkSize(path, info.Size()); err != nil {
		return nil, 0, err
	}
	f, err := os.Open(path)
	switch {
	case errors.Is(err, fs.ErrPermission):
		return fault("a file that may not be read", err)
	case err != nil:
		return fault("a file that cannot be opened ("+err.Error()+")", err)
	}
	return f, info.Size(), nil
}

func checkSize(name string, size int64) error {
	switch {
	case size == 0:
		return &strict.Error{File: name, Found: "an empty file", Want: wantFile}
	case size > MaxSize:
		return &strict.Error{File: name, Found: "a file of " + sizeText(size),
			Want: "at most " + sizeText(MaxSize) + " (cut it into parts, or record at a slower rate)"}
	}
	return nil
}

// sizeText writes a size in GB or MB of 2^30 and 2^20 bytes.
func sizeText(size int64) string {
	if size >= 1<<30 {
		return strconv.FormatFloat(float64(size)/(1<<30), 'f', -1, 64) + " GB"
	}
	return strconv.FormatFloat(float64(size)/(1<<20), 'f', 1, 64) + " MB"
}

// magics are the first bytes of files that people take for CSV.
var magics = []struct{ begin, found string }{
	{"PK\x03\x04", "a spreadsheet or an archive (a zip file)"},
	{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a spreadsheet or document of the old kind"},
	{"%PDF-", "a PDF"},
	{"\x1f\x8b", "a compressed file (gzip)"},
	{"\x89PNG", "a picture"},
	{"\x89HDF", "a binary measurement file (HDF5)"},
	{"SQLite format 3\x00", "a database"},
	{"PAR1", "a Parquet file"},
}

// binary says of bytes, in the encoding found, that they are no text; empty
// when they are.
func binary(head []byte, enc encoding) string {
	for _, m := range magics {
		if bytes.HasPrefix(head, []byte(m.begin)) {
			return m.found
		}
	}
	if enc.wide() {
		return ""
	}
	odd := 0
	for _, c := range head {
		if c < ' ' && c != '\t' && c != '\n' && c != '\r' && c != '\f' {
			odd++
		}
	}
	// A few such bytes are damage, which is told by its line; more are no text.
	if odd > 4 && odd*100 > len(head) {
		return "a binary file"
	}
	return ""
}
