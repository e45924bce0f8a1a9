package foreign

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"io"
)

// chunkSize is how much of a file is read at once, in bytes; there are
// chunkBuffers of them.
const (
	chunkSize    = 512 << 10
	chunkBuffers = 3
)

// chunk is a piece of the decoded file: whole lines. last says that the file
// ends with it; torn, that its last line had no end (one is put there).
type chunk struct {
	text       []byte
	last, torn bool
	err        error
}

// chunks reads a file from its beginning, in a goroutine of its own, so that
// reading and hashing go on while lines are parsed.
type chunks struct {
	out  chan chunk
	free chan []byte
	stop chan struct{}
	sum  hash.Hash
}

// readChunks starts reading; close must be called.
func (h *head) readChunks(r io.ReaderAt, size int64) *chunks {
	c := &chunks{out: make(chan chunk), free: make(chan []byte, chunkBuffers), stop: make(chan struct{}), sum: sha256.New()}
	for range min(chunkBuffers, size/chunkSize+1) {
		c.free <- make([]byte, 0, min(chunkSize, 3*size)+16)
	}
	go c.run(h, io.TeeReader(io.NewSectionReader(r, 0, size), c.sum))
	return c
}

// close lets the goroutine end.
func (c *chunks) close() { close(c.stop) }

// hash is that of the whole file, once its last chunk has come.
func (c *chunks) hash() string { return "sha256:" + hex.EncodeToString(c.sum.Sum(nil)) }

// run sends chunk after chunk until the file ends or close is called.
func (c *chunks) run(h *head, raw io.Reader) {
	_, err := io.CopyN(io.Discard, raw, int64(h.mark))
	text := h.enc.decoded(raw)
	var rest []byte // the beginning of a line whose end is still to come
	for err == nil {
		var buffer []byte
		select {
		case buffer = <-c.free:
		case <-c.stop:
			return
		}
		buffer = append(buffer[:0], rest...)
		var piece chunk
		if piece, rest, err = fill(buffer, text, h.bareCR); err != nil {
			break
		}
		select {
		case c.out <- piece:
		case <-c.stop:
			return
		}
		if piece.last {
			return
		}
	}
	select {
	case c.out <- chunk{err: err}:
	case <-c.stop:
	}
}

// errLongLine is a line that does not fit a chunk.
var errLongLine = errors.New("a line of more than 512 KB")

// fill reads into buffer up to chunkSize and cuts it after the last whole line.
func fill(buffer []byte, text io.Reader, bareCR bool) (piece chunk, rest []byte, err error) {
	from := len(buffer)
	n, err := io.ReadFull(text, buffer[from:min(chunkSize, cap(buffer)-1)])
	buffer = buffer[:from+n]
	if bareCR {
		bareToLines(buffer[from:])
	}
	switch {
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
		torn := len(buffer) > 0 && buffer[len(buffer)-1] != '\n'
		if torn {
			buffer = append(buffer, '\n')
		}
		return chunk{text: buffer, last: true, torn: torn}, nil, nil
	case err != nil:
		return chunk{}, nil, err
	}
	end := bytes.LastIndexByte(buffer, '\n') + 1
	if end == 0 {
		return chunk{}, nil, errLongLine
	}
	// The rest is copied: its buffer is given back before it is used.
	return chunk{text: buffer[:end]}, bytes.Clone(buffer[end:]), nil
}
