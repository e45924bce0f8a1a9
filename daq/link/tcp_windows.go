package link

import (
	"time"

	"golang.org/x/sys/windows"
)

// giveUpAfter bounds how long sent bytes may stay unacknowledged before the
// socket is given up.
func giveUpAfter(fd uintptr, d time.Duration) error {
	return windows.SetsockoptInt(windows.Handle(fd), windows.IPPROTO_TCP, windows.TCP_MAXRT, int(d.Seconds()))
}
