package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"

	"holdbench/daq/record"
	"holdbench/daq/strict"
	"holdbench/report"
)

// drawPages composes a result's pages once and draws them: the whole set as
// PDF, with the files that it was computed from inside, and the first page as
// PNG, side by side. An empty path draws nothing. It returns messages for the
// person.
func drawPages(facts report.Facts, pdf, png string) (messages []string, err error) {
	if pdf == "" && png == "" {
		return nil, nil
	}
	document := report.DocumentOf(facts)
	var drawing sync.WaitGroup
	var said [2]string
	var failed [2]error
	for i, page := range []struct {
		path string
		draw func(io.Writer) error
	}{
		{pdf, document.WritePDF},
		{png, func(w io.Writer) error { return report.WritePNG(w, document.Pages[0]) }},
	} {
		if page.path != "" {
			drawing.Go(func() { said[i], failed[i] = replacePage(page.path, page.draw) })
		}
	}
	drawing.Wait()
	for _, message := range said {
		if message != "" {
			messages = append(messages, message)
		}
	}
	return messages, errors.Join(failed[:]...)
}

// replacePage writes a page. Where the old one cannot be replaced, because a
// viewer has it open on some systems, the new one gets a name of its own, and
// the message returned says which.
func replacePage(path string, draw func(io.Writer) error) (message string, err error) {
	err = record.ReplaceFile(path, draw)
	var refused *os.LinkError
	if !errors.As(err, &refused) {
		return "", err
	}
	ending := filepath.Ext(path)
	for n := 2; n < 100; n++ {
		other := fmt.Sprintf("%s (%d)%s", strings.TrimSuffix(path, ending), n, ending)
		if _, taken := os.Lstat(other); taken == nil {
			continue
		}
		if err := record.ReplaceFile(other, draw); err != nil {
			return "", err
		}
		return fmt.Sprintf("%s cannot be replaced (%v), perhaps because a viewer has it open; the new page is %s", path, refused.Err, other), nil
	}
	return "", err
}

// unwritable says in one line that a place given by the person cannot be
// written to; other errors stay faults of the machine.
func unwritable(field, path string, err error) error {
	if err == nil {
		return nil
	}
	for _, why := range []struct {
		err  error
		text string
	}{
		{fs.ErrNotExist, "its folder does not exist"}, {fs.ErrPermission, "this user may not write there"},
		{syscall.ENOTDIR, "its folder is a file"}, {syscall.EROFS, "that file system is read-only"}, {syscall.EISDIR, "it is a folder"},
	} {
		if errors.Is(err, why.err) {
			return &strict.Error{Field: field, Found: path + ": " + why.text, Want: "a place that can be written to", Cause: err}
		}
	}
	return fault(err)
}
