package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"holdbench/analysis/si"
	"holdbench/report"
)

// unitsFlag adds the one setting for display units.
func unitsFlag(cmd *cobra.Command, into *string) {
	cmd.Flags().StringVar(into, "units", "bar,°C", "display units: bar, psi, kPa or MPa, then °C, °F or K")
}

// style is how results are shown: units and paper.
type style struct {
	si.Display
	paper report.Paper
}

// styleFlags adds units and paper, as written.
type styleFlags struct{ units, paper string }

func (f *styleFlags) add(cmd *cobra.Command) {
	unitsFlag(cmd, &f.units)
	cmd.Flags().StringVar(&f.paper, "paper", "A4", "paper of the pages: A4 or Letter")
}

func (f *styleFlags) parse() (style, error) {
	display, unitsErr := parseUnits(f.units)
	paper, paperErr := report.ParsePaper(f.paper)
	if paperErr != nil {
		paperErr = fmt.Errorf("--%w", paperErr)
	}
	return style{display, paper}, errors.Join(unitsErr, paperErr)
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
