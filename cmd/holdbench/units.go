package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"holdbench/analysis/si"
)

// unitsFlag adds the one setting for display units.
func unitsFlag(cmd *cobra.Command, into *string) {
	cmd.Flags().StringVar(into, "units", "bar,°C", "display units: bar, psi, kPa or MPa, then °C, °F or K")
}

// parseUnits reads the setting, e.g. "psi,°F".
func parseUnits(text string) (si.Display, error) {
	pressure, temperature, _ := strings.Cut(text, ",")
	if temperature == "" {
		temperature = "°C"
	}
	d, err := si.ParseDisplay(strings.TrimSpace(pressure), strings.TrimSpace(temperature))
	if err != nil {
		return d, fmt.Errorf("--units: %w", err)
	}
	return d, nil
}
