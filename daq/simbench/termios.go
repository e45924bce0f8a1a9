//go:build linux || darwin

package simbench

import "golang.org/x/sys/unix"

// makeRaw has a terminal pass bytes through as they are: no echo, no line
// editing, no signals.
func makeRaw(fd int) error {
	t, err := unix.IoctlGetTermios(fd, getTermios)
	if err != nil {
		return err
	}
	t.Iflag &^= unix.IGNBRK | unix.BRKINT | unix.PARMRK | unix.ISTRIP | unix.INLCR | unix.IGNCR | unix.ICRNL | unix.IXON | unix.IXOFF
	t.Oflag &^= unix.OPOST
	t.Lflag &^= unix.ECHO | unix.ECHONL | unix.ICANON | unix.ISIG | unix.IEXTEN
	t.Cflag &^= unix.CSIZE | unix.PARENB
	t.Cflag |= unix.CS8
	t.Cc[unix.VMIN], t.Cc[unix.VTIME] = 1, 0
	return unix.IoctlSetTermios(fd, setTermios, t)
}

// shared takes back exclusive mode. It cannot fail on an open terminal.
func shared(fd int) { _ = unix.IoctlSetInt(fd, unix.TIOCNXCL, 0) }

// unread is how many bytes wait for the program, 0 where that is not known.
func unread(fd int) int {
	n, err := unix.IoctlGetInt(fd, inputQueue)
	if err != nil {
		return 0
	}
	return n
}
