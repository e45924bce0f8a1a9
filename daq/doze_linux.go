package daq

import (
	"time"

	"golang.org/x/sys/unix"
)

// coarseness is by how much a timer may be late in an idle program: on Linux
// Go waits for timers in whole milliseconds, rounded up.
const coarseness = time.Millisecond

// doze sleeps for less than a timer can, or a little less when a signal comes.
func doze(d time.Duration) {
	spec := unix.NsecToTimespec(int64(d))
	_ = unix.Nanosleep(&spec, nil) // interrupted: who calls looks at the clock
}
