package modbus

import "errors"

// found is what a stretch of received bytes holds in answer to a request.
type found struct {
	registers []uint16
	exception error
	answered  bool // registers or exception is set
	foreign   int  // sound frames that answer something else
	stray     int  // bytes that belong to no sound frame
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
