//go:build unix

package main

import (
	"os"
	"syscall"
)

// stops are the signals by which a terminal stops a program in its tracks.
var stops = []os.Signal{syscall.SIGTSTP, syscall.SIGTTIN, syscall.SIGTTOU}
