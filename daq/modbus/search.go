package modbus

import "errors"

// found is what a stretch of received bytes holds in answer to a request.
type found struct {
	registers []uint16
	exception error
	answered  bool // registers or exception is set
	foreign   int  // sound frames that answer something else
	stray     int  // bytes that belong to no sound frame
	begun     bool // the last bytes may be the beginning of the answer
}

// search looks through what has come since r was sent. Noise before the
// answer, an echo of the request and the answers of other slaves are passed
// over; nothing is taken for the answer that is not a sound frame with the
// request's address, function and number of registers.
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
		registers, err := r.Parse(b[:length])
		if x := Exception(0); err == nil || errors.As(err, &x) {
			f.registers, f.exception, f.answered = registers, err, true
			return f
		}
		f.foreign++
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
	}
	return b[1] == r.Function && len(b) < r.ReplyLength() && (len(b) == 2 || int(b[2]) == 2*int(r.Count))
}
