package simbench

import "golang.org/x/sys/unix"

const (
	getTermios = unix.TIOCGETA
	setTermios = unix.TIOCSETA
	inputQueue = 0x4004667F // FIONREAD, _IOR('f', 127, int) of sys/filio.h
)

// flush drops what waits to be read. It cannot fail on an open terminal.
func flush(fd int) {
	const fread = 1
	_ = unix.IoctlSetPointerInt(fd, unix.TIOCFLUSH, fread)
}
