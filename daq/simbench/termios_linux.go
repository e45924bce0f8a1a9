package simbench

import "golang.org/x/sys/unix"

const (
	getTermios = unix.TCGETS
	setTermios = unix.TCSETS
	inputQueue = unix.TIOCINQ
)

// flush drops what waits to be read. It cannot fail on an open terminal.
func flush(fd int) { _ = unix.IoctlSetInt(fd, unix.TCFLSH, unix.TCIFLUSH) }
