//go:build !unix

package main

import "os"

// stops are the signals by which a terminal stops a program in its tracks: none
// here.
var stops []os.Signal
