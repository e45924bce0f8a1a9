package link

import (
	"time"

	"golang.org/x/sys/unix"
)

// giveUpAfter bounds how long sent bytes may stay unacknowledged before the
// socket is given up.
func giveUpAfter(fd uintptr, d time.Duration) error {
	return unix.SetsockoptInt(int(fd), unix.IPPROTO_TCP, unix.TCP_USER_TIMEOUT, int(d.Milliseconds()))
}
