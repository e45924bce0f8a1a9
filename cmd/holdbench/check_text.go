package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"holdbench/daq/bench"
	"holdbench/daq/textline"
)

// printOpening says what instruments are sent, beside their queries, whenever
// their port is opened: a command may change how they are set.
func printOpening(out io.Writer, b *bench.Bench) {
	for _, in := range b.Instruments {
		if in.Kind != bench.TextAsked {
			continue
		}
		var sent []string
		for _, text := range append(append([]string{}, in.Text.Setup...), in.Text.Identify) {
			if text != "" {
				sent = append(sent, strconv.Quote(textline.Printable(text)))
			}
		}
		if len(sent) > 0 {
			fmt.Fprintf(out, "instrument %s: sends on opening: %s\n", in.Name, strings.Join(sent, ", "))
		}
	}
}
