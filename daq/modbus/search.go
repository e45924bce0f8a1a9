package modbus

import (
	"bytes"
	"errors"
)

// found is what a stretch of received bytes holds in answer to a request.
type found struct {
	values    []uint16
	exception error
	answered  bool     // the answer, or an exception, is there
	foreign   [][]byte // sound frames that answer something else
	stray     int      // bytes that belong to no sound frame
	begun     bool     // the last bytes may be the beginning of the answer
	rest      []byte   // what stands behind the answer
}

// search looks through what has come since r was sent. Noise before the
// answer, an echo of the request and the answers of other slaves are passed
// over; nothing is taken for the answer that is not a sound frame with the
// request's address, function and number of values.
func search(r Request, b []byte) found {
	var f found
	for len(b) > 0 {
		length, err := frameLength(b)
		if err != nil || len(b) < length || !sound(b[:length]) {
			f.stray++
			f.begun = f.begun || r.mayBegin(b)
			b = b[1:]
			continue
		}
		values, err := r.Parse(b[:length])
		if x := Exception(0); err == nil || errors.As(err, &x) {
			f.values, f.exception, f.answered, f.rest = values, err, true, b[length:]
			return f
		}
		f.foreign = append(f.foreign, b[:length])
		b = b[length:]
	}
	return f
}

// mayBegin says whether bytes are the beginning of an answer to r that goes
// on.
func (r Request) mayBegin(b []byte) bool {
	switch {
	case b[0] != r.Address:
		return false
	case len(b) == 1:
		return true
	case b[1] == r.Function|exceptionBit:
		return len(b) < shortest
	case b[1] != r.Function || len(b) >= r.ReplyLength():
		return false
	case r.Writes():
		return bytes.HasPrefix(r.Reply(nil), b)
	}
	return len(b) == 2 || int(b[2]) == r.replyLength()-2
}
