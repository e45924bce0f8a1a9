package main

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"
	"unicode"

	"github.com/spf13/cobra"

	"holdbench/daq/link"
)

func portsCommand(*int) *cobra.Command {
	return &cobra.Command{
		Use:   "ports",
		Short: "List serial ports with what the system knows of them",
		Args:  noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ports, err := link.Ports()
			if err != nil {
				return fault(err)
			}
			return fault(printPorts(cmd.OutOrStdout(), ports, link.Latency, link.ByPath))
		},
	}
}

// printPorts writes a row for each port, and the line by which a bench file
// names it.
func printPorts(out io.Writer, ports []link.PortInfo, latency func(port string) (time.Duration, bool), byPath byPath) error {
	if len(ports) == 0 {
		_, err := fmt.Fprintln(out, "No serial port is known to this system. Is the adapter plugged in?")
		return err
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "PORT\tKIND\tUSB ID\tSERIAL NUMBER\tLATENCY\tDESCRIPTION")
	for _, p := range ports {
		kind, id, late := "serial", "", ""
		if p.USB {
			kind, id = "USB", p.VendorID+":"+p.ProductID
		}
		if d, known := latency(p.Name); known {
			late = d.String()
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", p.Name, kind, id, p.SerialNumber, late, p.Product)
	}
	fmt.Fprintln(w, "\nin a bench file, under [[link]]:")
	for _, p := range ports {
		line, why := benchLine(p, ports, byPath)
		fmt.Fprintf(w, "  %s\t# %s\n", line, cmp.Or(why, p.Name))
	}
	return w.Flush()
}

// byPath is the name of a port by the place where its adapter is plugged in.
type byPath func(port string) (name string, known bool)

// benchLine is the line that names a port in a bench file: by its USB
// identity where that names it alone, else by its place where the system names
// that, else by its name, and then why.
func benchLine(p link.PortInfo, ports []link.PortInfo, byPath byPath) (line, why string) {
	i := p.Identity()
	byName := "port = " + tomlText(p.Name)
	if !i.Given() {
		return byName, "not on USB: its name stays"
	}
	place, placed := byPath(p.Name)
	if placed {
		byName = "port = " + tomlText(place)
	}
	switch {
	case !i.Unique(ports) && !placed:
		return byName, p.Name + ": another adapter says the same of itself, and this name may be the other one's after plugging in anew; take adapters with serial numbers"
	case !i.Unique(ports):
		return byName, p.Name + " is plugged in there; another adapter says the same of itself, so keep each in its socket"
	case len(i.Vendor) != 4 || len(i.Product) != 4 || !plainText(i.Serial):
		return byName, p.Name + ": what it says of itself cannot be written down"
	}
	line = fmt.Sprintf("usb = { vendor = %s, product = %s", tomlText(strings.ToLower(i.Vendor)), tomlText(strings.ToLower(i.Product)))
	if i.Serial != "" {
		line += ", serial = " + tomlText(i.Serial)
	}
	return line + " }", ""
}

// draftPort is a port as a new bench file names it, with a note beside it, and
// whether another adapter may be taken for it.
func draftPort(name string, ports []link.PortInfo, byPath byPath) (where, note string, swappable bool) {
	for _, p := range ports {
		if p.Name != name {
			continue
		}
		if where, note = benchLine(p, ports, byPath); note == "" {
			note = "was " + name + " when this file was made"
		}
		return where, note, p.USB && !p.Identity().Unique(ports)
	}
	return "port = " + tomlText(name), "", false
}

// tomlText is a text in quotes as TOML has it.
func tomlText(text string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(text) + `"`
}

func plainText(text string) bool {
	return !strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }) &&
		(text == "" || strings.TrimSpace(text) != "")
}
