// Command holdbench records hydraulic hold tests and says, per serial number,
// whether a unit holds.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	_ "time/tzdata" // for --zone on systems that have no such data
)

// version is set by release builds with -ldflags "-X main.version=…".
var version = "0.1.0-dev"

// program is what recordings, results and pages call the program.
var program = "holdbench " + version

func main() {
	os.Exit(Main(os.Args[1:]))
}

// Main runs the program with the given arguments and returns its exit code:
// the only place that prints errors and chooses codes.
func Main(args []string) int {
	code := exitPass
	root := newRoot(&code)
	root.SetArgs(args)
	err := root.ExecuteContext(context.Background())
	if err == nil {
		return code
	}
	var fault faultError
	fmt.Fprintln(os.Stderr, err)
	if errors.As(err, &fault) {
		return exitFault
	}
	return exitBadInput
}
