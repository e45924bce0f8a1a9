package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"holdbench/daq/strict"
)

const caution = `Trapped pressure is a hazard until it is proven vented. Follow the local code and
a competent, licensed person. This program is no safety device.`

// commands is the one list of what the program can do. Each takes the place
// where it leaves its exit code.
var commands = []func(code *int) *cobra.Command{
	demoCommand,
	runCommand,
	planCommand,
	assessCommand,
	calibrateCommand,
	challengeCommand,
	characteriseCommand,
	benchCommand,
	checkCommand,
	listenCommand,
	portsCommand,
	simulateCommand,
	studyCommand,
	fluidCommand,
	schemaCommand,
}

func newRoot(code *int) *cobra.Command {
	root := &cobra.Command{
		Use:           "holdbench",
		Short:         "Record hydraulic hold tests and say, per serial number, whether a unit holds",
		Long:          "holdbench records hydraulic hold (leak-down) tests of holding valves and says, per\nserial number, whether a unit holds: PASS, FAIL or INCONCLUSIVE.\n\n" + caution,
		Version:       version,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return fmt.Errorf("holdbench: found %q, want a command; see holdbench --help", args[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetFlagErrorFunc(flagError)
	for _, c := range commands {
		root.AddCommand(c(code))
	}
	return root
}

// flagWants says what a flag of each kind takes.
var flagWants = map[string]string{
	"uint64": "a whole number, 0 or more", "int": "a whole number", "float64": "a number", "bool": "true or false",
	"stringToString": "NAME=VALUE",
}

// flagError puts what is wrong with a flag into our own words.
func flagError(cmd *cobra.Command, err error) error {
	var value *pflag.InvalidValueError
	var unknown *pflag.NotExistError
	var missing *pflag.ValueRequiredError
	switch {
	case errors.As(err, &value):
		return &strict.Error{Field: "--" + value.GetFlag().Name, Found: strict.Quote(value.GetValue()), Want: flagWants[value.GetFlag().Value.Type()]}
	case errors.As(err, &unknown):
		return fmt.Errorf("%s: found an unknown flag %q; see %s --help", cmd.CommandPath(), unknown.GetSpecifiedName(), cmd.CommandPath())
	case errors.As(err, &missing):
		return &strict.Error{Field: "--" + missing.GetSpecifiedName(), Found: "nothing after it", Want: "a value"}
	}
	return err
}

// noArguments refuses stray words in our own words.
func noArguments(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return fmt.Errorf("%s: found %q, want no argument; see %s --help", cmd.CommandPath(), args[0], cmd.CommandPath())
}

// oneArgument wants exactly one word, called what.
func oneArgument(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == 1 {
			return nil
		}
		return fmt.Errorf("%s: found %d arguments, want one: %s; see %s --help", cmd.CommandPath(), len(args), what, cmd.CommandPath())
	}
}
