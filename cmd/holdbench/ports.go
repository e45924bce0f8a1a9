package main

import (
	"fmt"
	"text/tabwriter"

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
				return fault(fmt.Errorf("list serial ports: %w", err))
			}
			if len(ports) == 0 {
				fmt.Fprintln(cmd.OutOrStdout(), "No serial port is known to this system. Is the adapter plugged in?")
				return nil
			}
			w := tabwriter.NewWriter(cmd.OutOrStdout(), 0, 0, 2, ' ', 0)
			fmt.Fprintln(w, "PORT\tKIND\tUSB ID\tSERIAL NUMBER\tDESCRIPTION")
			for _, p := range ports {
				kind, id := "serial", ""
				if p.USB {
					kind, id = "USB", p.VendorID+":"+p.ProductID
				}
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", p.Name, kind, id, p.SerialNumber, p.Product)
			}
			return fault(w.Flush())
		},
	}
}
