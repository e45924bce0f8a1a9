//go:build !linux

package daq

import "time"

// coarseness is by how much a timer may be late; elsewhere timers are fine.
const coarseness = 0

func doze(time.Duration) {}
